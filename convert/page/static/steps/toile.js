// Step 9: what was pinned where, pointed at on the drawing.

import { h, put, s, say } from "/static/dom.js";
import { capital, filled, kindWords, words } from "/static/words.js";
import { pieceDrawing } from "/static/parts/drawing.js";
import { spotOf } from "/static/parts/spots.js";
import { saidForm } from "/static/parts/said.js";
import { needs } from "/static/parts/needs.js";
import { ofPaper, stepOf } from "/static/lengths.js";

const t = words.toile;
const placeWords = (place) => t.places[place] ?? place;

export async function build(ctx) {
  const { job, unit } = ctx;
  let toile;
  try { toile = await job.get("/toile"); } catch (err) {
    return needs(ctx, err, { title: t.no_block, steps: ["block"] });
  }
  let chosen = null, amount = 0, on = null;
  const board = h("div", { class: "toile-board" }), side = h("div", { class: "after" }), ask = h("section", { class: "ask" });

  const usable = () => toile.places.filter((place) => place.pieces.some((kind) => toile.pieces.some((piece) => piece.kind === kind)));
  function choose(place, where = null) {
    chosen = place;
    on = where ?? place?.usual ?? place?.pieces ?? null;
    amount = 0;
    draw();
    if (place) { say(placeWords(place.place)); side.querySelector("h2")?.focus(); }
  }
  const form = () => saidForm(ctx, {
    choose: (name, where) => choose(usable().find((place) => place.place === name) ?? null, where),
    carry: (text) => save("/toile", { words: [text] }),
  });
  async function save(path, body) {
    try {
      const answer = await job.change("POST", path, body);
      toile = answer.pieces ? answer : await job.get("/toile");
      choose(null);
      window.scrollTo(0, 0);
      (ask.querySelector(".stale button") ?? ask.querySelector("h1")).focus();
      say(t.done_list);
    } catch (err) { ctx.fail(err); }
  }
  function drawBoard() {
    put(board, toile.pieces.map((piece) => {
      const spots = usable().filter((place) => place.pieces.includes(piece.kind)).map((place) => ({ place, at: spotOf(place.place, piece) })).filter((one) => one.at);
      const drawing = pieceDrawing(piece, {
        name: filled(t.alt, { kind: kindWords(piece.kind) }), pad: 26,
        extra: (map) => spots.map(({ place, at }) => { const [x, y] = map(at); return s("g", { class: `spot${chosen?.place === place.place ? " chosen" : ""}`, transform: `translate(${x} ${y})`, onclick: () => choose(place) }, s("circle", { r: 24, class: "grab" }), s("circle", { r: 9, class: "pin" }), s("title", {}, placeWords(place.place))); }),
      });
      return h("figure", {}, drawing.element, h("figcaption", {}, capital(kindWords(piece.kind))));
    }));
  }
  function draw() {
    put(ask, h("h1", { tabindex: "-1" }, t.question), h("p", {}, t.words),
      toile.printed === "stale" ? h("section", { class: "doubts stale" }, h("p", {}, t.stale), h("button", { onclick: () => ctx.go("paper") }, t.print_now)) : null);
    drawBoard();
    put(side, chosen ? amountBox() : [form(), h("h2", {}, t.choose)],
      h("details", { open: !chosen }, h("summary", {}, t.by_name), h("div", { class: "row runs" }, usable().map((place) => h("button", { class: "small", "aria-pressed": String(chosen?.place === place.place), onclick: () => choose(place) }, capital(placeWords(place.place)))))),
      toile.changes?.length ? h("section", {}, h("h2", {}, t.done_list), h("ol", {}, toile.changes.map((one) => h("li", {}, one.sentence ?? `${capital(placeWords(one.place))}: ${ofPaper(one.amount_mm, unit)}`))), h("button", { class: "small", onclick: () => save("/toile/undo") }, t.undo)) : null,
      toile.undone?.length ? h("p", {}, h("button", { class: "small plain", onclick: () => save("/toile/redo") }, t.redo)) : null);
  }
  function amountBox() {
    const step = chosen.step ?? stepOf(unit), low = chosen.low ?? -30, high = chosen.high ?? 30, output = h("output", { class: "number amount", for: "pinned" });
    const range = h("input", { type: "range", id: "pinned", min: low, max: high, step: "any", value: 0 });
    const show = () => { const text = Math.abs(amount) < 0.05 ? ofPaper(0, unit) : `${amount > 0 ? chosen.more ?? t.more : chosen.less ?? t.less}: ${ofPaper(Math.abs(amount), unit)}`; output.textContent = text; range.setAttribute("aria-valuetext", text); };
    const to = (mm) => { amount = Math.max(low, Math.min(high, mm)); range.value = amount; show(); };
    range.addEventListener("input", () => { amount = Math.round(Number(range.value) / step) * step; show(); });
    range.addEventListener("keydown", (event) => { const by = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageUp: 5, PageDown: -5 }[event.key]; if (by) { event.preventDefault(); to(amount + by * step); } });
    show();
    const kinds = chosen.pieces.filter((kind) => toile.pieces.some((piece) => piece.kind === kind));
    return h("section", { class: "card amount-box" }, h("h2", { tabindex: "-1" }, capital(placeWords(chosen.place))), h("label", { for: "pinned" }, t.how_much[chosen.counts] ?? t.how_much.each, " ", output), range,
      h("div", { class: "row" }, h("button", { class: "small", onclick: () => to(amount - step) }, capital(chosen.less ?? t.less)), h("button", { class: "small", onclick: () => to(amount + step) }, capital(chosen.more ?? t.more))),
      kinds.length > 1 ? h("fieldset", {}, kinds.map((kind) => h("label", { class: "tick" }, h("input", { type: "checkbox", checked: on.includes(kind), onchange: (event) => { const now = new Set(on); if (event.target.checked) now.add(kind); else now.delete(kind); on = [...now]; } }), capital(kindWords(kind))))) : null,
      h("div", { class: "row" }, h("button", { class: "main", onclick: () => { const where = kinds.filter((kind) => on.includes(kind));
        if (Math.abs(amount) > 0.05 && where.length) save("/toile", { changes: [{ place: chosen.place, amount_mm: amount, on: where }] }); } }, t.save), h("button", { class: "plain", onclick: () => choose(null) }, t.leave)));
  }
  draw();
  return { element: h("div", { class: "work" }, h("div", { class: "look" }, ask, h("div", { class: "table" }, board), side), h("div", { class: "answers stick" }, h("button", { onclick: () => ctx.go("paper") }, t.again))) };
}
