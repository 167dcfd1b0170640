// Step 5: the measurement card, one measurement at a time with its drawing; slips are asked about kindly.

import { drawn, h, put, say } from "/static/dom.js";
import { get } from "/static/server.js";
import { capital, filled, words } from "/static/words.js";
import { bareNumber, ofBody, ofPaper, typedWords } from "/static/lengths.js";

const t = words.maker;
const NOBODY = "maker"; // what an empty card calls her

export async function build(ctx) {
  const { job, unit } = ctx;
  const [all, first] = await Promise.all([measures(), job.get("/maker")]);
  let maker = first;
  const needed = neededBy(all, job.pieces);
  const pages = ["name", "size", ...needed.map((one) => one.name), "all"];
  const have = (name) => ["told", "doubtful"].includes(maker.entries?.[name]?.state);
  let at = begin();
  const root = h("section", { class: "maker" });
  function named() { return maker.name && maker.name !== NOBODY ? maker.name : ""; }

  function begin() {
    if (!named()) return 0;
    const question = maker.questions?.[0]?.names?.[0], doubtful = pages.indexOf(question);
    if (doubtful > 0) return doubtful;
    if (!maker.pattern?.size && !Object.keys(maker.pattern?.body ?? {}).length && !needed.some((one) => have(one.name))) return 1;
    const missing = needed.findIndex((one) => !have(one.name));
    return missing < 0 ? pages.length - 1 : missing + 2;
  }
  // what is typed on the page that lies open, and how it is kept: {field, was, body(text), path}
  let typed = [], keeping = Promise.resolve(true);
  /** Keep what was typed; false if something can't be, and then it says so. */
  function keepTyped() {
    keeping = keeping.then(async () => {
      for (const one of typed) {
        const text = one.field.value.trim();
        if (text === one.was || !one.field.isConnected) continue;
        if (!(await change("PUT", one.path, one.body(text || null), one.field))) return false;
        one.was = text;
      }
      return true;
    });
    return keeping;
  }
  function typing(field, path, body) {
    typed.push({ field, was: field.value.trim(), path, body });
    field.addEventListener("change", () => keepTyped().then((kept) => { if (kept && root.contains(field)) refresh(); }));
    return field;
  }
  /** What stands on the card now, in place: a row that is just being pressed stays where it is. */
  function refresh() {
    for (const [name, span] of shownValues) { span.textContent = valueWords(name); span.className = have(name) ? "number" : "quiet"; }
  }
  const shownValues = new Map();
  const valueWords = (name) => { const entry = maker.entries?.[name] ?? {}; return have(name) ? typedWords(entry.text, entry.mm, unit) : entry.mm ? filled(t.estimated, { length: ofBody(entry.mm, unit) }) : t.not_measured; };
  let cardOpen = false;
  async function go(n, { ask = true } = {}) {
    if (!(await keepTyped())) return;
    const name = pages[at], asked = ask && !shownSlips.has(name) ? questionFor(name) : null;
    if (asked) { shownSlips.add(name); draw(); say(asked.sentence); root.querySelector(".slip h2")?.focus(); return; }
    at = Math.max(0, Math.min(pages.length - 1, n));
    draw();
    root.querySelector("input, h1")?.focus();
    window.scrollTo(0, 0);
  }
  const shownSlips = new Set(); // questions that were put to her already
  /** Send a change; whether it was kept. */
  async function change(method, path, body, field = root.querySelector("input")) {
    try {
      const answer = await job.change(method, path, body);
      maker = answer.entries ? answer : await job.get("/maker");
      put(root.querySelector(".field-trouble"));
      field?.removeAttribute("aria-invalid");
      await job.unmark(["compare", "block"]);
      return true;
    } catch (err) {
      if (!err.problem) { ctx.fail(err); return false; }
      put(root.querySelector(".field-trouble"), h("p", { class: "trouble-problem" }, err.problem), h("p", {}, err.remedy));
      field?.setAttribute("aria-invalid", "true");
      field?.focus();
      return false;
    }
  }

  function draw() {
    const page = pages[at];
    const done = needed.filter((one) => have(one.name)).length;
    typed = [];
    put(root,
      h("div", { class: "beside" }, h("p", { class: "quiet" }, filled(t.how_many, { done, of: needed.length })), h("progress", { max: needed.length, value: done, "aria-label": filled(t.how_many, { done, of: needed.length }) })),
      page === "name" ? namePage() : page === "size" ? sizePage() : page === "all" ? lastPage(done) : measurePage(needed[at - 2]),
      cardList(), footer(page, done));
  }

  function footer(page, done) {
    return h("div", { class: "answers stick" },
      at > 0 ? h("button", { class: "narrow", onclick: () => go(at - 1) }, t.previous) : null,
      page !== "all" ? h("button", { class: "narrow", onclick: () => go(at + 1) }, t.next) : null,
      h("button", { class: page === "all" ? "main" : "narrow", onclick: async () => { if (await keepTyped()) ctx.go("compare"); } }, page === "all" ? t.finished : done ? t.enough : t.finished));
  }

  const field = (id, value, path, body, more = {}) => typing(h("input", { type: "text", id, value, autocomplete: "off", ...more }), path, body);
  const form = (...inside) => h("form", { class: "one", onsubmit: (event) => { event.preventDefault(); go(at + 1); } }, ...inside);

  function namePage() {
    return form(h("h1", {}, h("label", { for: "maker-name" }, t.name)), h("p", {}, t.name_words),
      h("div", { class: "row" }, field("maker-name", named(), "/maker", (text) => ({ name: text ?? "" }), { maxlength: 80 }), h("button", { class: "main" }, t.keep)), h("div", { class: "field-trouble", role: "alert" }));
  }

  /** The size: what the envelope says of the body, or a row of a table that lies open; or neither. */
  function sizePage() {
    const pattern = maker.pattern ?? {}, own = (maker.envelope ?? []).some((one) => one.text);
    const way = sizeWay ?? (own ? "own" : pattern.chart ? "table" : null);
    const choose = (next) => h("li", {}, h("button", { type: "button", class: "choice", "aria-pressed": String(way === next), onclick: async () => { if (await keepTyped()) { sizeWay = next; draw(); root.querySelector(`[data-way="${next}"]`)?.focus(); } }, "data-way": next }, t.size_ways[next]));
    return form(h("h1", { tabindex: "-1" }, t.question_size), h("p", {}, t.size_words), h("ul", { class: "choices" }, choose("own"), choose("table"), choose("none")),
      way === "own" ? envelope() : way === "table" ? sizeTables(pattern) : way === "none" ? forget(pattern, own) : null,
      h("div", { class: "field-trouble", role: "alert" }));
  }
  let sizeWay = null, chartOpen = null;
  function envelope() {
    return h("fieldset", { class: "card" }, h("legend", {}, t.own), (maker.envelope ?? []).map((one, n) => h("div", { class: "row envelope-row" }, h("label", { for: `envelope-${n}` }, capital(one.name)),
      field(`envelope-${n}`, one.text, "/pattern", (text) => ({ body: { [one.name]: text } }), { size: 7, inputmode: "text" }), h("span", { class: "unit-word" }, words.units[unit]))),
    h("button", { class: "main" }, t.keep));
  }
  function sizeTables(pattern) {
    const charts = maker.charts ?? [], open = charts.find((one) => one.id === (chartOpen ?? pattern.chart));
    return [h("h2", {}, t.chart), h("ul", { class: "choices" }, charts.map((one) => h("li", {}, h("button", { type: "button", class: "choice", "aria-pressed": String(open === one), onclick: () => { chartOpen = one.id; draw(); root.querySelector(".size-table")?.scrollIntoView({ block: "nearest" }); } }, one.words)))),
      open ? sizeTable(open, pattern) : null];
  }
  function sizeTable(chart, pattern) {
    const set = async (size) => { if (await change("PUT", "/pattern", { chart: chart.id, size })) { draw(); say(filled(t.size_is, { size })); root.querySelector('.size-table [aria-pressed="true"]')?.focus(); } };
    const chosen = (size) => pattern.chart === chart.id && String(pattern.size) === size;
    return h("div", { class: "size-scroll", tabindex: "0", role: "region", "aria-label": chart.words }, h("table", { class: "size-table" }, h("caption", {}, t.size_tap),
      h("thead", {}, h("tr", {}, h("th", { scope: "col" }, t.size), chart.columns.map((column) => h("th", { scope: "col" }, capital(column.name))))),
      h("tbody", {}, chart.sizes.map((size, n) => h("tr", { class: chosen(size) ? "chosen" : "", onclick: () => set(size) },
        h("th", { scope: "row" }, h("button", { type: "button", class: "small", "aria-pressed": String(chosen(size)), "aria-label": `${t.size} ${size}` }, size)),
        chart.columns.map((column) => h("td", { class: "number" }, ofPaper(column.mm[n], unit))))))));
  }
  function forget(pattern, own) {
    if (!own && !pattern.chart) return h("p", {}, t.size_open);
    const body = Object.fromEntries((maker.envelope ?? []).map((one) => [one.name, null]));
    return h("div", {}, h("p", {}, t.size_told), h("button", { type: "button", onclick: async () => { if (await change("PUT", "/pattern", { chart: null, size: null, body })) { chartOpen = null; draw(); } } }, t.forget));
  }

  function measurePage(measure) {
    const entry = maker.entries?.[measure.name] ?? {}, told = have(measure.name);
    const box = field("measure", told ? ownText(entry) : "", "/maker", (text) => ({ entries: { [measure.name]: text } }), { inputmode: "text", class: "big-field", size: 7, "aria-describedby": "measure-how" });
    return h("form", { class: "one measuring", onsubmit: (event) => { event.preventDefault(); go(at + 1); } },
      h("div", { class: "measure-title" }, h("h1", { tabindex: "-1" }, capital(measure.name)), measure.words ? h("p", { class: "lead" }, capital(measure.words), ".") : null),
      measure.svg ? h("div", { class: "figure" }, drawn(measure.svg, measure.words)) : null,
      h("div", { class: "measure-body" }, h("p", { id: "measure-how" }, measure.how),
        questionFor(measure.name) ? slip(questionFor(measure.name)) : null,
        h("label", { for: "measure" }, t.field), h("div", { class: "row" }, box, h("span", { class: "unit-word" }, words.units[unit]), h("button", { class: "main" }, t.keep)),
        h("div", { class: "field-trouble", role: "alert" }),
        h("p", { class: "quiet" }, told ? filled(t.have, { length: typedWords(entry.text, entry.mm, unit) }) : t.missing),
        told ? h("button", { type: "button", class: "plain small", onclick: async () => { if (await change("PUT", "/maker", { entries: { [measure.name]: null } })) draw(); } }, t.forget) : null));
  }
  const ownText = (entry) => (entry.text && !/[a-z"]/i.test(entry.text) ? entry.text : entry.mm ? bareNumber(entry.mm, unit) : entry.text ?? "");
  const questionFor = (name) => (maker.questions ?? []).find((one) => one.names?.includes(name));

  function slip(question) {
    const answer = async (which) => {
      if (!(await keepTyped()) || !(await change("POST", "/maker/answers", { id: question.id, answer: which }))) return;
      const more = maker.questions?.[0]?.names?.[0];
      typed = [];
      go(more ? pages.indexOf(more) : at + 1, { ask: false });
    };
    const offer = typeof question.offer === "number" ? ofPaper(question.offer, unit) : question.offer;
    return h("section", { class: "slip card" }, h("h2", { tabindex: "-1" }, t.slip_question), h("p", {}, question.sentence),
      h("div", { class: "row" }, offer ? h("button", { type: "button", onclick: () => answer("offer") }, filled(t.slip_offer, { length: offer })) : null, h("button", { type: "button", onclick: () => answer("right") }, t.slip_right)));
  }

  function lastPage(done) {
    return h("div", { class: "one" }, h("h1", { tabindex: "-1" }, done === needed.length ? t.all_done : filled(t.how_many, { done, of: needed.length })), done === needed.length ? h("p", {}, t.all_done_words) : null,
      (maker.questions ?? []).map(slip), h("div", { class: "field-trouble", role: "alert" }));
  }

  function cardList() {
    shownValues.clear();
    const row = (page, name, value) => h("li", {}, h("button", { class: "edge-row", onclick: () => go(pages.indexOf(page), { ask: false }) }, h("span", {}, name), value));
    return h("details", { class: "whole-card", open: cardOpen || pages[at] === "all", ontoggle: (event) => { cardOpen = event.target.open; } }, h("summary", {}, t.card), h("p", { class: "quiet" }, t.card_words),
      h("ul", { class: "card-list" }, row("name", t.name_step, h("span", { class: "number" }, named())), row("size", t.pattern_step, h("span", { class: "number" }, sizeWords())),
        needed.map((one) => { const span = h("span", { class: have(one.name) ? "number" : "quiet" }, valueWords(one.name)); shownValues.set(one.name, span); return row(one.name, capital(one.name), span); })));
  }
  function sizeWords() {
    if ((maker.envelope ?? []).some((one) => one.text)) return t.size_own;
    return maker.pattern?.size ? `${t.size} ${maker.pattern.size}` : "";
  }
  draw();
  const leaving = () => { keepTyped(); };
  window.addEventListener("pagehide", leaving);
  return { element: root, leave: async () => { const kept = await keepTyped(); if (kept) window.removeEventListener("pagehide", leaving); return kept; } };
}

let known = null;
const measures = async () => {
  if (!known) { const answer = await get("/api/measures"); known = answer.measures ?? answer; }
  return known;
};

/** Those that the pieces at hand need; all if nothing says which. */
function neededBy(all, pieces) {
  const groups = new Set(pieces.map((piece) => (piece.kind.endsWith("sleeve") ? "sleeve" : piece.kind.split(" ")[0])));
  const wanted = all.filter((one) => { const of = [one.group ?? one.groups ?? one.parts ?? []].flat(); return !of.length || !groups.size || of.some((part) => groups.has(part)); });
  return wanted.length ? wanted : all;
}
