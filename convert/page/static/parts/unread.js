// A piece that has not been read yet: read it, show how far that is, say what is wrong.

import { h, put } from "/static/dom.js";
import { filled, kindWords, words } from "/static/words.js";
import { trouble } from "/static/parts/trouble.js";
import { working } from "/static/parts/working.js";

const t = words.read_first;

/** What only she can know: which of several pieces, which of several sizes, a scan, the wrong side up. */
function special(ctx, after) {
  const { job, piece } = ctx, now = job.piece(piece.id) ?? piece, w = words.special;
  const place = h("select", { id: "special-at" }, h("option", { value: "" }, w.only), Object.entries(words.pictures.places).map(([value, name]) => h("option", { value, selected: now.at === value }, name)));
  const size = h("input", { type: "text", id: "special-size", size: 5, value: now.size ?? "", autocomplete: "off", "aria-describedby": "special-hint" });
  const scan = h("input", { type: "checkbox", checked: Boolean(now.scan) }), down = h("input", { type: "checkbox", checked: Boolean(now.face_down) });
  const save = async (event) => {
    event.preventDefault();
    const typed = size.value.trim(), count = /^[1-9]$/.test(typed) ? Number(typed) : typed || null;
    try {
      await job.change("PATCH", `/pieces/${piece.id}`, { at: place.value || null, size: count, scan: scan.checked, face_down: down.checked });
      await job.look();
      await after();
    } catch (err) { ctx.fail(err); }
  };
  return h("details", { class: "special" }, h("summary", {}, w.title), h("form", { class: "card", onsubmit: save },
    h("label", { for: "special-at" }, w.at), place, h("label", { for: "special-size" }, w.size), size, h("p", { id: "special-hint", class: "quiet small" }, w.size_hint),
    h("label", { class: "tick" }, scan, w.scan), h("label", { class: "tick" }, down, w.face_down), h("button", { class: "main" }, w.save)));
}

/** A step's element while the piece is not read; null once it is. */
export async function notRead(ctx, { problem = null } = {}) {
  const { job, piece } = ctx;
  const now = job.piece(piece.id);
  const read = ["read", "done", "ready", "needs you"].includes(now.state);
  if (read && !problem && !job.work.has(piece.id)) return null;
  const kind = kindWords(piece.kind);
  const root = h("section", { class: "ask unread" });
  function draw() {
    const busy = working(job, piece.id), known = job.piece(piece.id);
    const said = problem ?? known?.problem ?? job.state.problem ?? known?.pictures?.find((one) => one.problem)?.problem;
    put(root, h("h1", {}, filled(busy ? t.busy : said ? t.stuck : t.question, { kind })), said && !busy ? null : h("p", {}, t.words),
      said && !busy ? trouble(typeof said === "string" ? { problem: said } : said, { close: false }) : null, busy,
      said && !busy ? special(ctx, go) : null,
      h("div", { class: "answers" },
        said && !busy ? takeBack(known) : null,
        said && !busy && ctx.step !== "mat" && !now.scan ? h("button", { onclick: () => ctx.go("mat", piece.id) }, words.steps.mat.name) : null,
        said ? h("button", { onclick: () => ctx.go("pictures") }, words.steps.pictures.name) : null,
        busy ? null : job.state.grid || now.scan
          ? h("button", { class: "main", onclick: go }, said ? t.again : t.go)
          : h("button", { class: "main", onclick: () => ctx.go("mat", piece.id) }, words.steps.mat.name)));
  }
  /** What she told that may be in the way, each with a button that takes it back. */
  function takeBack(known) {
    const back = async (calls) => {
      try {
        for (const call of calls) await call();
        await job.unmark([`mat/${piece.id}`, `piece/${piece.id}`, `seams/${piece.id}`]);
        await job.look();
        await go();
      } catch (err) { ctx.fail(err); }
    };
    const crossings = () => Promise.all(known.pictures.map((one) => job.change("PUT", `/pieces/${piece.id}/mat`, { picture: one.id, lattice: null })));
    const marks = () => job.change("DELETE", `/pieces/${piece.id}/told`);
    return [
      known?.crossings_told ? h("button", { class: "main", onclick: () => back([crossings]) }, t.back_crossings) : null,
      known?.told ? h("button", { class: "main", onclick: () => back([marks]) }, t.back_piece) : null,
    ];
  }
  async function go() {
    problem = null;
    try { await job.read(piece.id); } catch (err) { problem = err; }
    draw();
  }
  draw();
  const came = async () => {
    const state = job.piece(piece.id)?.state;
    if (!job.work.has(piece.id) && ["read", "done", "ready", "needs you"].includes(state)) ctx.again();
    else draw();
  };
  return { element: root, work: came, news: came };
}
