// The table a picture lies on: nearer and further, moved about, turned. The picture is one layer, what is drawn another,
// so that a dragged point repaints lines only. `content` is pixels of the full picture; marks are drawn in screen pixels.

import { h, s, put } from "/static/dom.js";
import { words } from "/static/words.js";

const NEAREST = 24, WHEEL = 0.0016, SHARP_FROM = 1.3, FOOT_PX = 56; // FOOT: where the buttons lie

/**
 * @param {{width: number, height: number, src?: (width: number) => string, alt: string, turn?: number,
 *   frame?: number[] | null}} of
 *   size in content pixels, the picture's address by width wanted, and by how many degrees it is turned on screen.
 */
export function makeTable({ width, height, src, alt, turn = 0, frame = null }) {
  const angle = (turn * Math.PI) / 180, cos = Math.cos(angle), sin = Math.sin(angle);
  const image = src ? h("img", { class: "table-image", alt: "", draggable: "false", src: src(1400) }) : null;
  if (image) { image.style.width = `${width}px`; image.style.height = `${height}px`; }
  const world = s("g", { class: "world" });
  const marks = s("g", { class: "marks" });
  const svg = s("svg", { class: "table-lines", role: "img", "aria-label": alt }, world, marks);
  const view = h("div", { class: "table-view", tabindex: "0", role: "group", "aria-label": `${alt}. ${words.view.label}` }, image, svg);
  const buttons = h("div", { class: "table-zoom" },
    h("button", { type: "button", onclick: () => zoom(1.5), "aria-label": words.view.nearer, title: words.view.nearer }, "+"),
    h("button", { type: "button", onclick: () => zoom(1 / 1.5), "aria-label": words.view.further, title: words.view.further }, "−"),
    h("button", { type: "button", onclick: fit, "aria-label": words.view.whole, title: words.view.whole, class: "whole" }, wholeSign()));
  const element = h("div", { class: "table" }, view, buttons);

  const camera = { scale: 1, x: 0, y: 0 };
  const listeners = new Set();
  const box = frame ?? [0, 0, width, height];
  let size = { width: 0, height: 0 }, fitted = 1, moved = false, sharp = 1400;

  /** @type {(point: number[]) => number[]} */
  const toScreen = ([x, y]) => [camera.scale * (cos * x - sin * y) + camera.x, camera.scale * (sin * x + cos * y) + camera.y];
  /** @type {(point: number[]) => number[]} */
  const toContent = ([x, y]) => {
    const u = (x - camera.x) / camera.scale, v = (y - camera.y) / camera.scale;
    return [cos * u + sin * v, -sin * u + cos * v];
  };

  function apply() {
    const k = camera.scale;
    const matrix = [k * cos, k * sin, -k * sin, k * cos, camera.x, camera.y];
    if (image) image.style.transform = `matrix(${matrix.join(",")})`;
    world.setAttribute("transform", `matrix(${matrix.join(" ")})`);
    if (image && src && k * devicePixelRatio * width > sharp * SHARP_FROM && sharp < width) {
      sharp = Math.min(width, Math.ceil((k * devicePixelRatio * width * 1.5) / 800) * 800);
      const better = new Image();
      better.onload = () => { image.src = better.src; };
      better.src = src(sharp);
    }
    for (const one of listeners) one(camera);
  }

  function fit() {
    const [x0, y0, x1, y1] = box;
    const corners = [[x0, y0], [x1, y0], [x0, y1], [x1, y1]].map(([x, y]) => [cos * x - sin * y, sin * x + cos * y]);
    const xs = corners.map((c) => c[0]), ys = corners.map((c) => c[1]);
    const low = [Math.min(...xs), Math.min(...ys)], span = [Math.max(...xs) - low[0], Math.max(...ys) - low[1]];
    fitted = Math.min((size.width - 16) / span[0], (size.height - 12 - FOOT_PX) / span[1]);
    if (!(fitted > 0)) return;
    Object.assign(camera, { scale: fitted, x: (size.width - fitted * span[0]) / 2 - fitted * low[0], y: (size.height - FOOT_PX - fitted * span[1]) / 2 - fitted * low[1] });
    moved = false;
    apply();
  }

  function zoom(by, at = [size.width / 2, size.height / 2]) {
    const scale = Math.max(fitted * 0.6, Math.min(fitted * NEAREST, camera.scale * by));
    const real = scale / camera.scale;
    Object.assign(camera, { scale, x: at[0] - (at[0] - camera.x) * real, y: at[1] - (at[1] - camera.y) * real });
    moved = true;
    apply();
  }

  function pan(dx, dy) {
    camera.x += dx; camera.y += dy; moved = true;
    apply();
  }

  /** Bring a content point into view if it lies outside. */
  function reveal(point) {
    const [x, y] = toScreen(point), edge = 24;
    const dx = x < edge ? edge - x : x > size.width - edge ? size.width - edge - x : 0;
    const dy = y < edge ? edge - y : y > size.height - edge - FOOT_PX ? size.height - edge - FOOT_PX - y : 0;
    if (dx || dy) pan(dx, dy);
  }

  const at = (event) => {
    const rect = view.getBoundingClientRect();
    return [event.clientX - rect.left - view.clientLeft, event.clientY - rect.top - view.clientTop];
  };

  // pan by dragging the ground, pinch with two fingers
  const fingers = new Map();
  let pinch = null;
  let grip = null; // set by whoever takes the pointer for something else
  view.addEventListener("pointerdown", (event) => {
    fingers.set(event.pointerId, at(event));
    if (fingers.size === 2) {
      grip?.cancel?.(); grip = null;
      pinch = spread();
    } else if (grip === null) view.classList.add("panning");
    view.setPointerCapture?.(event.pointerId);
  });
  view.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId)) return;
    const before = fingers.get(event.pointerId), now = at(event);
    fingers.set(event.pointerId, now);
    if (pinch && fingers.size >= 2) {
      const wide = spread();
      zoom(wide.far / pinch.far, wide.middle);
      pan(wide.middle[0] - pinch.middle[0], wide.middle[1] - pinch.middle[1]);
      pinch = wide;
    } else if (grip) grip.move?.(event, now);
    else pan(now[0] - before[0], now[1] - before[1]);
  });
  for (const name of ["pointerup", "pointercancel"]) {
    view.addEventListener(name, (event) => {
      fingers.delete(event.pointerId);
      if (fingers.size < 2) pinch = null;
      if (fingers.size === 0) {
        view.classList.remove("panning");
        const held = grip;
        grip = null;
        if (name === "pointerup") held?.drop?.(event, at(event)); else held?.cancel?.();
      }
    });
  }
  function spread() {
    const [a, b] = [...fingers.values()];
    return { far: Math.hypot(a[0] - b[0], a[1] - b[1]) || 1, middle: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] };
  }
  view.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !view.contains(document.activeElement)) return; // else the page scrolls
    event.preventDefault();
    zoom(Math.exp(-event.deltaY * WHEEL * (event.deltaMode ? 20 : 1)), at(event));
  }, { passive: false });
  view.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || event.ctrlKey || event.metaKey) return;
    const ways = { ArrowLeft: [40, 0], ArrowRight: [-40, 0], ArrowUp: [0, 40], ArrowDown: [0, -40] };
    if (event.key === "+" || event.key === "=") zoom(1.25);
    else if (event.key === "-") zoom(0.8);
    else if (event.key === "0") fit();
    else if (ways[event.key]) pan(...ways[event.key]);
    else return;
    event.preventDefault();
  });

  new ResizeObserver(() => {
    const next = { width: view.clientWidth, height: view.clientHeight };
    if (next.width === size.width && next.height === size.height) return;
    size = next;
    svg.setAttribute("width", size.width);
    svg.setAttribute("height", size.height);
    if (!moved) fit(); else apply();
  }).observe(view);

  return {
    element, view, svg, world, marks, image, camera, toScreen, toContent, zoom, fit, pan, reveal, at,
    turn, angle,
    /** While a pointer is down: {move, drop, cancel}; call in a pointerdown listener that runs before the table's own. */
    take(holder) { grip = holder; },
    get size() { return size; },
    onCamera(call) { listeners.add(call); return () => listeners.delete(call); },
    setLines(...children) { put(world, ...children); },
  };
}

function wholeSign() {
  return s("svg", { viewBox: "0 0 24 24", class: "sign", "aria-hidden": "true" }, s("path", { d: "M4 9 V4 H9 M15 4 H20 V9 M20 15 V20 H15 M9 20 H4 V15" }));
}
