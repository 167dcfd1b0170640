// What only she can know of a piece, to be changed at any time: which of several, which size, face down, turned, a scan.

import { h, put, s } from "/static/dom.js";
import { filled, kindWords, words } from "/static/words.js";
import { lineOf } from "/static/editor/curve.js";
import { paperFrame } from "/static/parts/frame.js";
import { makeTable } from "/static/parts/table.js";

const w = words.special, QUARTERS = 4;

/** {element, asks}: `asks` is whether nothing can be read before she has pointed. */
export async function special(ctx, { open = false } = {}) {
  const { job, piece } = ctx, now = job.piece(piece.id) ?? piece;
  let choices = { outlines: [] };
  try { choices = await job.get(`/pieces/${piece.id}/choices`); } catch { /* nothing to point at yet */ }
  async function change(values) {
    try {
      await job.change("PATCH", `/pieces/${piece.id}`, values);
      await job.unmark([`mat/${piece.id}`, `piece/${piece.id}`, `seams/${piece.id}`, "compare", "block"]);
      await job.look();
      if (job.state.grid || job.piece(piece.id)?.scan) await job.read(piece.id);
      ctx.again();
    } catch (err) { ctx.fail(err); }
  }
  const asks = choices.outlines.length > 1 && choices.now === null;
  const tick = (key, label) => h("label", { class: "tick" }, h("input", { type: "checkbox", checked: Boolean(now[key]), onchange: (event) => change({ [key]: event.target.checked }) }), label);
  const turn = (by) => () => change({ rotate: ((now.rotate ?? 0) + by + 360) % 360 });
  const print = h("div", { role: "status" });
  async function readPrint() {
    put(print, h("p", {}, w.reads));
    try {
      const { text, kind } = await job.get(`/pieces/${piece.id}/title`);
      put(print, h("p", {}, kind ? filled(w.says, { text, kind: kindWords(kind) }) : w.says_nothing),
        kind && kind !== now.kind ? h("button", { class: "small", onclick: () => change({ kind }) }, filled(w.take, { kind: kindWords(kind) })) : null);
    } catch (err) { put(print); ctx.fail(err); }
  }
  const element = h("div", { class: "special" },
    choices.outlines.length > 1 ? pointing(ctx, choices, change, asks) : null,
    h("details", { open }, h("summary", {}, w.title), h("div", { class: "card" },
      choices.what !== "size" && now.size !== null && now.size !== undefined ? h("p", { class: "row" }, filled(w.size_now, { size: now.size }), h("button", { class: "small", onclick: () => change({ size: null }) }, w.size_other)) : null,
      tick("face_down", w.face_down), tick("scan", w.scan),
      h("div", { class: "row" }, h("span", {}, w.turn), h("button", { class: "small", onclick: turn(360 - 360 / QUARTERS) }, w.left), h("button", { class: "small", onclick: turn(360 / QUARTERS) }, w.right)),
      h("button", { class: "small", onclick: readPrint }, w.print), print)));
  return { element, asks };
}

/** The picture with every piece or every size drawn on it: tap one. Each is a button too. */
function pointing(ctx, choices, change, asks) {
  const { job, piece } = ctx, kind = kindWords(piece.kind), t = w[choices.what];
  const choose = (n) => change({ [choices.what]: n });
  const names = choices.outlines.map((_, n) => filled(t.one, { n: n + 1, of: choices.outlines.length }));
  const holder = h("div", { class: "pointing" });
  function draw() {
    const sheet = choices.sheet, all = choices.outlines.flat(), frame = paperFrame(sheet, { outline: all });
    const table = makeTable({ width: sheet.width, height: sheet.height, frame: frame.box, alt: filled(words.piece.picture_alt, { kind }), src: (width) => job.url(`/pieces/${piece.id}/sheet.jpg?width=${Math.min(width, sheet.width)}`) });
    const rings = choices.outlines.map((ring) => `${lineOf(ring, frame.toPx)}Z`);
    const lines = rings.map((d, n) => s("path", { d, class: `choice-line line-${n % 5}${choices.now === n + 1 ? " chosen" : ""}` }));
    table.setLines(rings.map((d) => s("path", { d, class: "casing" })), lines);
    table.view.dataset.tool = "name";
    table.view.addEventListener("pointerdown", (event) => {
      const start = table.at(event);
      let last = start, far = false;
      table.take({
        move: (_, at) => { far ||= Math.hypot(at[0] - start[0], at[1] - start[1]) > 5; if (far) table.pan(at[0] - last[0], at[1] - last[1]); last = at; },
        drop: (_, at) => { if (!far) choose(nearestOf(choices, frame.toMm(table.toContent(at))) + 1); },
      });
    }, { capture: true });
    put(holder, table.element);
  }
  const body = [h("p", {}, t.how), holder, h("div", { class: "row runs" }, names.map((name, n) => h("button", { class: "small", "aria-pressed": String(choices.now === n + 1), onclick: () => choose(n + 1) }, h("i", { class: `swatch line-${n % 5}`, "aria-hidden": "true" }), name)))];
  if (asks) { draw(); return h("section", { class: "pointing-now" }, h("h2", {}, filled(t.question, { kind })), body); }
  return h("details", { ontoggle: (event) => { if (event.target.open && !holder.childElementCount) draw(); } }, h("summary", {}, t.other), body);
}

/** Which ring is meant by a point: of sizes the nearest line, of pieces the one round it, else the nearest. */
/** @type {(choices: any, point: number[]) => number} */
function nearestOf(choices, [x, y]) {
  const far = choices.outlines.map((ring) => Math.min(...ring.map((p) => Math.hypot(p[0] - x, p[1] - y))));
  const inside = choices.what === "at" ? choices.outlines.findIndex((ring) => within(ring, x, y)) : -1;
  return inside >= 0 ? inside : far.indexOf(Math.min(...far));
}

function within(ring, x, y) {
  let odd = false;
  ring.forEach(([ax, ay], i) => { const [bx, by] = ring[(i + 1) % ring.length]; if ((ay > y) !== (by > y) && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) odd = !odd; });
  return odd;
}
