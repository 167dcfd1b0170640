// A piece that has not been read yet: read it, show how far that is, say what is wrong.

import { h, put } from "/static/dom.js";
import { filled, kindWords, words } from "/static/words.js";
import { special } from "/static/parts/special.js";
import { trouble } from "/static/parts/trouble.js";
import { working } from "/static/parts/working.js";

const t = words.read_first;

/** A step's element while the piece is not read; null once it is. */
export async function notRead(ctx, { problem = null } = {}) {
  const { job, piece } = ctx;
  const now = job.piece(piece.id);
  const read = ["read", "done", "ready", "needs you"].includes(now.state);
  if (read && !problem && !job.work.has(piece.id)) return null;
  const kind = kindWords(piece.kind);
  const root = h("section", { class: "ask unread" });
  let more = piece.state === "stuck" || problem ? await special(ctx, { open: false }) : null;
  function draw() {
    const busy = working(job, piece.id), known = job.piece(piece.id);
    const said = problem ?? known?.problem ?? job.state.problem ?? known?.pictures?.find((one) => one.problem)?.problem;
    const asks = more?.asks && !busy;
    put(root, h("h1", {}, filled(asks ? t.asks : busy ? t.busy : said ? t.stuck : t.question, { kind })), said && !busy ? null : h("p", {}, t.words),
      said && !busy && !asks ? trouble(typeof said === "string" ? { problem: said } : said, { close: false }) : null, busy,
      busy ? null : more?.element,
      h("div", { class: "answers" },
        said && !busy ? takeBack(known) : null,
        said && !busy && ctx.step !== "mat" && !now.scan ? h("button", { onclick: () => ctx.go("mat", piece.id) }, words.steps.mat.name) : null,
        said ? h("button", { onclick: () => ctx.go("pictures") }, words.steps.pictures.name) : null,
        busy ? null : job.state.grid || now.scan
          ? asks ? null : h("button", { class: "main", onclick: go }, said ? t.again : t.go)
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
    if (!job.work.has(piece.id) && state === "stuck" && !more) more = await special(ctx);
    if (!job.work.has(piece.id) && ["read", "done", "ready", "needs you"].includes(state)) ctx.again();
    else draw();
  };
  return { element: root, work: came, news: came };
}
