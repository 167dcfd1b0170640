// Building elements. No inline styles: what must be computed is set as a CSS variable (`vars`) or an SVG attribute.

const SVG = "http://www.w3.org/2000/svg";

function fill(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "vars") for (const [key, one] of Object.entries(value)) element.style.setProperty(key, one);
    else if (name === "value" || name === "checked" || name === "indeterminate") element[name] = value;
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat(3).filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

/** An HTML element: h("p", {class: "quiet"}, "words", other). */
export const h = (tag, attributes, ...children) => fill(document.createElement(tag), attributes, children);

/** An SVG element. */
export const s = (tag, attributes, ...children) => fill(document.createElementNS(SVG, tag), attributes, children);

/** Replace everything inside an element. */
export function put(element, ...children) {
  element.replaceChildren(...children.flat(3).filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

/** Put one element in the place of another; gives the new one. */
export function swap(old, fresh) {
  old.replaceWith(fresh);
  return fresh;
}

let numbers = 0;
/** An id that nothing else on the page has. */
export const fresh = (stem = "n") => `${stem}-${(numbers += 1)}`;

/** A picture that the server drew, from its text; scripts and styles in it are left behind. */
export function drawn(text, name) {
  const parsed = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  if (parsed.nodeName !== "svg") return s("svg", { viewBox: "0 0 1 1", "aria-hidden": "true" });
  for (const bad of parsed.querySelectorAll("script, style, foreignObject")) bad.remove();
  for (const one of [parsed, ...parsed.querySelectorAll("*")]) {
    for (const attribute of [...one.attributes]) if (/^on|^style$/i.test(attribute.name)) one.removeAttribute(attribute.name);
  }
  parsed.removeAttribute("width");
  parsed.removeAttribute("height");
  if (name) {
    parsed.setAttribute("role", "img");
    parsed.setAttribute("aria-label", name);
  }
  parsed.classList.add("drawn");
  return document.importNode(parsed, true);
}

/** Say something to those who listen rather than look. */
export function say(text) {
  const place = document.getElementById("said");
  place.textContent = "";
  setTimeout(() => { place.textContent = text; }, 30);
}

/** Call at most once per `ms`, the last call always. */
export function atMost(ms, call) {
  let last = 0, timer = 0, kept = null;
  const run = () => { timer = 0; last = performance.now(); call(...kept); };
  return (...args) => {
    kept = args;
    if (timer) return;
    timer = setTimeout(run, Math.max(0, last + ms - performance.now()));
  };
}

/** Call once things have been quiet for `ms`; `.now()` does it at once if something waits. */
export function afterQuiet(ms, call) {
  let timer = 0, kept = null;
  const later = (...args) => {
    kept = args;
    clearTimeout(timer);
    timer = setTimeout(later.now, ms);
  };
  later.now = () => {
    clearTimeout(timer);
    if (!kept) return undefined;
    const args = kept;
    kept = null;
    return call(...args);
  };
  return later;
}

/** Forms marked `data-keep` whose field was typed in are sent off: what is typed counts, however one goes on. */
export function sendTyped(root) {
  for (const form of root.querySelectorAll("form[data-keep]")) {
    const field = form.querySelector("input[type=text]");
    if (field && field.value.trim() && field.value !== (field.dataset.was ?? "")) { field.dataset.was = field.value; form.requestSubmit(); }
  }
}
