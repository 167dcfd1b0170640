// Step 3: the outline and the marks over the flattened photograph.

import { afterQuiet, h, put, s, say, swap } from "/static/dom.js";
import { answers, sureness } from "/static/parts/answers.js";
import { doubts } from "/static/parts/trouble.js";
import { edgeWords, filled, kindWords, plural, words } from "/static/words.js";
import { Editor } from "/static/editor/editor.js";
import { panel } from "/static/editor/panel.js";
import { docOf, removeThing, toldOf } from "/static/editor/model.js";
import { makeTable } from "/static/parts/table.js";
import { paperFrame } from "/static/parts/frame.js";
import { special } from "/static/parts/special.js";
import { notRead } from "/static/parts/unread.js";
import { send } from "/static/server.js";

const t = words.piece, QUIET_MS = 300, UNSURE = 0.85, PATCH_MM = 26;
let mending = null; // the piece that was being mended when it was laid out anew
let before = null; // {piece, told}: what had been told before all of it was taken back

export async function build(ctx) {
  const { job, piece } = ctx;
  const waiting = await notRead(ctx);
  if (waiting) return waiting;
  const [sheet, first] = await Promise.all([job.get(`/pieces/${piece.id}/sheet`), job.get(`/pieces/${piece.id}/piece`)]);
  let read = first;
  const more = await special(ctx);
  const frame = paperFrame(sheet, read);
  const base = docOf(read), toldBefore = read.told ?? {};
  let sent = toldOf(base, base, toldBefore), good = base;

  const table = makeTable({
    width: sheet.width, height: sheet.height, turn: frame.turn, frame: frame.box,
    src: (width) => job.url(`/pieces/${piece.id}/sheet.jpg?width=${Math.min(width, sheet.width)}`), alt: filled(t.picture_alt, { kind: kindWords(piece.kind) }),
  });
  const editor = new Editor({
    table, doc: base, edges: read.edges, seam: read.seam_line, toPx: frame.toPx, toMm: frame.toMm, unit: ctx.unit,
    snap: async (point) => (await send("POST", job.url(`/pieces/${piece.id}/snap`), { points: [point] })).points?.[0] ?? null,
    named: async (doc) => (await send("POST", job.url(`/pieces/${piece.id}/told/try`), { edges: toldOf(doc, base, toldBefore).edges })).edges,
    changed: () => { side.say(t.saving); save(); }, shown: () => side?.draw(),
  });
  const side = panel(editor, { names: read.names ?? [...new Set(read.edges.map((edge) => edge.name))], told: toldList });
  side.draw();

  /** What she told of this piece, thing by thing, each with its way back. */
  function toldList() {
    const told = read.told ?? {}, things = [];
    for (const [n] of (told.outline_parts ?? []).entries()) things.push([filled(t.told.outline_part, { n: n + 1 }), { outline_parts: rest(told.outline_parts, n) }]);
    for (const [n, edge] of (told.edges ?? []).entries()) things.push([filled(t.told.edge, { edge: edgeWords(edge.name) }), { edges: rest(told.edges, n) }]);
    for (const key of Object.keys(t.told.one)) if (told[key] !== undefined && told[key] !== null) things.push([t.told.one[key], { [key]: null }]);
    const mine = before?.piece === piece.id && !things.length ? before.told : null;
    if (!things.length && !mine) return null;
    return h("details", { class: "told-list", open: true }, h("summary", {}, t.told.title),
      h("ul", { class: "found" }, things.map(([name, change]) => h("li", { class: "row" }, h("span", {}, name), h("button", { class: "small", onclick: () => takeBack(() => job.change("PUT", `/pieces/${piece.id}/told`, change)) }, t.told.back, h("span", { class: "unseen" }, ` ${name}`))))),
      things.length ? h("button", { class: "small", onclick: () => { before = { piece: piece.id, told: without(told, "allowances", "face_down") }; takeBack(() => job.change("DELETE", `/pieces/${piece.id}/told`)); } }, t.as_read) : null,
      mine ? h("button", { class: "small", onclick: () => { before = null; takeBack(() => job.change("PUT", `/pieces/${piece.id}/told`, mine)); } }, t.told.again) : null);
  }
  async function takeBack(call) {
    await save.now();
    try {
      await call();
      await job.unmark([`piece/${piece.id}`, `seams/${piece.id}`, "compare", "block"]);
      await job.look();
      mending = piece.id;
      ctx.again();
    } catch (err) { side.trouble(err); }
  }

  const save = afterQuiet(QUIET_MS, async () => {
    const doc = editor.history.doc, now = toldOf(doc, base, toldBefore), change = {};
    for (const key of Object.keys(now)) if (JSON.stringify(now[key]) !== JSON.stringify(sent[key])) change[key] = now[key];
    if (!Object.keys(change).length) return side.say(t.saved);
    sent = now;
    try {
      const answer = await job.change("PUT", `/pieces/${piece.id}/told`, change);
      read = answer;
      good = doc;
      editor.update({ edges: read.edges, seam: read.seam_line });
      side.say(t.saved);
      say(t.said.saved);
      await job.unmark([`seams/${piece.id}`, "compare", "block"]);
      drawFound();
    } catch (err) {
      sent = toldOf(good, base, toldBefore);
      side.say("");
      if (!err.problem || err.code === "stale") return ctx.fail(err);
      editor.refuse(good); // nothing is drawn as if it were kept
      side.trouble(err);
    }
  });

  const ask = h("section", { class: "ask" }), found = h("div", { class: "after" });
  const answered = new Set(); // marks that she looked at
  let foot = h("div");
  let fixing = mending === piece.id;
  mending = null;
  const look = h("div", { class: "look" }, ask, table.element, found), element = h("div", { class: "work" }, look, foot);

  function drawFound() {
    put(found, fixing ? side.element : [foundList(read), doubtfulMarks(), toldList(), more.element, doubts(read.notes)]);
  }
  /** Each mark that may be something else, near by, with one question. */
  function doubtfulMarks() {
    const doc = editor.history.doc;
    const open = [["notch", doc.notches], ["hole", doc.holes]].flatMap(([kind, list]) => list.map((mark, n) => ({ kind, n, mark }))).filter(({ mark }) => mark.confidence < UNSURE && !answered.has(mark.id));
    if (!open.length) return null;
    return h("section", {}, h("h2", {}, t.doubtful), h("ul", { class: "doubtful" }, open.map(({ kind, n, mark }) => h("li", {}, patch(mark.at), h("div", {}, h("p", {}, t.is_it[kind]), h("div", { class: "row" },
      h("button", { class: "small", onclick: () => { answered.add(mark.id); drawFound(); } }, t.yes),
      h("button", { class: "small", onclick: () => { editor.put(removeThing(editor.history.doc, { kind, n })); drawFound(); } }, t.no)))))));
  }
  function patch(at) {
    const [x, y] = frame.toPx(at), half = PATCH_MM / 2 / sheet.mm_per_px;
    return s("svg", { viewBox: `${x - half} ${y - half} ${2 * half} ${2 * half}`, class: "patch", "aria-hidden": "true" },
      s("image", { href: job.url(`/pieces/${piece.id}/sheet.jpg?width=${sheet.width}`), width: sheet.width, height: sheet.height }), s("circle", { cx: x, cy: y, r: half * 0.55 }));
  }
  function draw() {
    put(ask, h("h1", {}, fixing ? t.fix_question : t.question));
    look.classList.toggle("fixing", fixing);
    drawFound();
    foot = swap(foot, answers({
      fixing, fix: () => { fixing = !fixing; editor.edit(fixing); draw(); if (fixing) table.view.focus({ preventScroll: true }); }, fixWords: fixing ? words.answers.done : undefined,
      right: async () => { await save.now(); ctx.fine(); },
    }));
  }
  if (fixing) editor.edit(true);
  draw();
  const leaving = () => save.now();
  window.addEventListener("pagehide", leaving);
  /** @type {any} */ (window).ownblockEditor = editor; // for tests and the curious
  return { element, leave() { window.removeEventListener("pagehide", leaving); save.now(); editor.leave(); }, editor };
}

const rest = (list, n) => { const left = list.filter((_, i) => i !== n); return left.length ? left : null; };
const without = (told, ...keys) => Object.fromEntries(Object.entries(told).filter(([key]) => !keys.includes(key)));

function foundList(read) {
  const edgeSure = (read.uncertainty_mm ?? 0) < 0.6 ? 3 : read.uncertainty_mm < 1.5 ? 2 : 1;
  const seen = t.seen, darts = read.darts.length;
  const notches = read.marks.filter((mark) => mark.kind === "notch").length, holes = read.marks.filter((mark) => mark.kind === "hole").length;
  const fold = read.fold ?? read.edges.find((edge) => edge.on_fold)?.name;
  const printed = read.edges.some((edge) => edge.evidence === "measured" && edge.allowance > 0);
  return h("ul", { class: "found" },
    read.complete === false ? h("li", {}, t.not_whole) : h("li", {}, seen.outline, " ", sureness(edgeSure)),
    h("li", {}, seen.seam, " ", sureness(printed ? 3 : 1)),
    h("li", {}, plural(seen.darts, darts), ", ", plural(seen.notches, notches), holes ? `, ${plural(seen.holes, holes)}` : null),
    h("li", {}, read.grainline ? seen.grain : seen.no_grain, " ", read.grainline ? sureness(3) : null),
    h("li", {}, fold && fold !== "none" ? filled(seen.fold, { edge: edgeWords(fold) }) : seen.no_fold));
}
