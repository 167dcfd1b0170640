// A piece that has not been read yet: read it, show how far that is, say what is wrong.

import { h, put } from "/static/dom.js";
import { filled, kindWords, words } from "/static/words.js";
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
  function draw() {
    const busy = working(job, piece.id), known = job.piece(piece.id);
    const said = problem ?? known?.problem ?? known?.pictures?.find((one) => one.problem)?.problem;
    put(root, h("h1", {}, filled(t.question, { kind })), h("p", {}, t.words),
      said && !busy ? trouble(typeof said === "string" ? { problem: said } : said, { close: false }) : null, busy,
      h("div", { class: "answers" },
        said ? h("button", { onclick: () => ctx.go("pictures") }, words.steps.pictures.name) : null,
        busy ? null : job.state.grid || now.scan
          ? h("button", { class: "main", onclick: go }, said ? t.again : t.go)
          : h("button", { class: "main", onclick: () => ctx.go("mat", piece.id) }, words.steps.mat.name)));
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
  return { element: root, work: draw, news: came };
}
