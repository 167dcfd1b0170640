// Step 4: the seam allowance of each edge with its evidence, changed by clicking.

import { h, put, s, say, sendTyped, swap } from "/static/dom.js";
import { answers, sureness } from "/static/parts/answers.js";
import { doubts } from "/static/parts/trouble.js";
import { capital, edgeWords, filled, kindWords, words } from "/static/words.js";
import { Drawing, runsOf } from "/static/editor/draw.js";
import { docOf } from "/static/editor/model.js";
import { thingsOf } from "/static/editor/things.js";
import { makeTable } from "/static/parts/table.js";
import { paperFrame } from "/static/parts/frame.js";
import { notRead } from "/static/parts/unread.js";
import { asTyped, ofPaper, withUnit } from "/static/lengths.js";

const t = words.seams;
const WIDTHS = { cm: [0, 5, 10, 15, 20, 30], in: [0, 6.35, 9.525, 12.7, 15.875, 25.4] }; // usual widths, mm

export async function build(ctx) {
  const { job, piece, unit } = ctx;
  const waiting = await notRead(ctx);
  if (waiting) return waiting;
  const [sheet, first] = await Promise.all([job.get(`/pieces/${piece.id}/sheet`), job.get(`/pieces/${piece.id}/piece`)]);
  let read = first, chosen = null;
  const frame = paperFrame(sheet, read), doc = docOf(read);
  const table = makeTable({
    width: sheet.width, height: sheet.height, turn: frame.turn, frame: frame.box,
    src: (width) => job.url(`/pieces/${piece.id}/sheet.jpg?width=${Math.min(width, sheet.width)}`), alt: filled(t.picture_alt, { kind: kindWords(piece.kind) }),
  });
  const drawing = new Drawing(table, frame.toPx), things = thingsOf(doc, null).filter((one) => one.kind === "leg" || one.kind === "apex");
  const runs = runsOf(doc.nodes, read.edges);
  table.view.dataset.tool = "seams";
  table.view.addEventListener("pointerdown", (event) => {
    const run = event.target.closest?.("[data-run]")?.dataset.run;
    if (run === undefined) return;
    const start = table.at(event);
    let last = start, moved = false;
    table.take({
      move: (_, now) => { moved ||= Math.hypot(now[0] - start[0], now[1] - start[1]) > 5; if (moved) table.pan(now[0] - last[0], now[1] - last[1]); last = now; },
      drop: () => { if (!moved) choose(runs[Number(run)].name); },
    });
  }, { capture: true });

  const ask = h("section", { class: "ask" }), side = h("div", { class: "after" });
  let foot = h("div");
  const element = h("div", { class: "work" }, h("div", { class: "look" }, ask, table.element, side), foot);
  const edge = (name) => read.edges.find((one) => one.name === name);

  function choose(name) {
    sendTyped(side);
    chosen = name;
    draw();
    if (name) { say(lineOfEdge(edge(name))); side.querySelector(".change h2")?.focus(); }
  }
  function widthWords(one) {
    if (one.on_fold) return t.fold;
    return one.allowance < 0.05 ? t.none : ofPaper(one.allowance, unit);
  }
  const lineOfEdge = (one) => filled(t.edge_line, { edge: capital(edgeWords(one.name)), width: widthWords(one) });

  async function tell(allowances) {
    try {
      const answer = await job.change("PUT", `/pieces/${piece.id}/told`, { allowances });
      read = answer;
      await job.unmark([`seams/${piece.id}`, "compare", "block"]);
      draw();
      say(words.piece.said.saved);
    } catch (err) { ctx.fail(err); }
  }

  function change(one) {
    const other = h("input", { type: "text", id: "other-width", autocomplete: "off", size: 8 });
    const usual = WIDTHS[unit];
    return h("section", { class: "card change" }, h("h2", { tabindex: "-1" }, filled(t.fix_question, { edge: capital(edgeWords(one.name)) })),
      one.why ? h("p", { class: "quiet" }, one.why) : null,
      h("ul", { class: "widths", "aria-label": t.widths }, usual.map((mm) => h("li", {}, h("button", {
        class: "width small", "aria-pressed": String(Math.abs(one.allowance - mm) < 0.3), onclick: () => tell({ [one.name]: mm ? asTyped(mm, unit) : "none" }),
      }, band(mm), mm ? ofPaper(mm, unit) : t.none)))),
      h("form", { class: "row", "data-keep": true, onsubmit: (event) => { event.preventDefault(); if (other.value.trim()) tell({ [one.name]: withUnit(other.value, unit) }); } },
        h("label", { for: "other-width" }, t.other), other, h("span", {}, words.units[unit]), h("button", { class: "small" }, t.set)),
      h("div", { class: "row" },
        one.evidence === "told" ? h("button", { class: "small plain", onclick: () => tell({ [one.name]: null }) }, t.untell) : null,
        h("button", { class: "small plain", onclick: () => tell(Object.fromEntries(read.edges.filter((each) => !each.on_fold).map((each) => [each.name, one.allowance < 0.05 ? "none" : asTyped(one.allowance, unit)]))) }, t.all_edges),
        h("button", { class: "small plain", onclick: () => choose(null) }, t.close)));
  }

  function draw() {
    drawing.paint({ ...doc, fold: read.edges.find((one) => one.on_fold)?.name ?? null }, {
      things, chosen: null, chosenRun: runs.findIndex((run) => run.name === chosen), runs, seam: read.seam_line, editing: false,
    });
    put(ask, h("h1", {}, t.question), h("p", {}, t.words));
    put(side,
      chosen && edge(chosen) ? change(edge(chosen)) : null,
      h("ul", { class: "edge-list" }, read.edges.map((one) => h("li", {},
        h("button", { class: "edge-row", "aria-pressed": String(one.name === chosen), onclick: () => choose(one.name) },
          h("span", { class: "edge-words" }, h("strong", {}, capital(edgeWords(one.name))), h("span", {}, widthWords(one))),
          sureness(t.sure_of[one.evidence] ?? 1, t.evidence[one.evidence]))))),
      read.told?.allowances ? h("button", { class: "small", onclick: () => tell(Object.fromEntries(Object.keys(read.told.allowances).map((name) => [name, null]))) }, words.piece.as_read) : null,
      doubts(read.notes));
    foot = swap(foot, answers({ right: () => { sendTyped(side); ctx.fine(); } }));
  }
  draw();
  return { element, leave: () => { sendTyped(side); drawing.leave(); } };
}

/** A band as wide as the allowance, for the eye. */
function band(mm) {
  return s("svg", { viewBox: "0 0 34 36", class: "band", "aria-hidden": "true" },
    s("rect", { x: 2, y: 2, width: mm, height: 32, class: "band-paper" }), s("path", { d: "M2 2 V34", class: "cut" }), mm ? s("path", { d: `M${2 + mm} 2 V34`, class: "seam" }) : null);
}
