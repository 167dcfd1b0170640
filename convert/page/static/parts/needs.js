// A step that can't be shown yet: what it needs, and where to get it; when it only waits for pictures, it goes on by itself.

import { h, put } from "/static/dom.js";
import { Trouble } from "/static/server.js";
import { words } from "/static/words.js";
import { trouble } from "/static/parts/trouble.js";
import { working } from "/static/parts/working.js";

/**
 * A step in place of one whose request failed with `err`; faults of the program are thrown on.
 * @param {any} ctx
 * @param {unknown} err
 * @param {{title: string, text?: string, steps: string[]}} said
 */
export function needs(ctx, err, { title, text, steps }) {
  if (!(err instanceof Trouble) || err.status >= 500 || err.status === 0) throw err;
  const { job } = ctx, root = h("section", { class: "ask" });
  const draw = () => {
    const busy = err.code === "unread" ? working(job) : null;
    put(root, h("h1", {}, title), text ? h("p", {}, text) : null, busy ?? trouble(err, { close: false }),
      h("div", { class: "answers" }, steps.map((step) => h("button", { onclick: () => ctx.go(step) }, words.steps[step].name))));
  };
  draw();
  const work = () => { if (err.code === "unread" && !job.work.size && job.pieces.every((piece) => piece.state !== "working")) ctx.again(); else draw(); };
  // read already, or failed for good: look once more only when something happens
  return { element: root, work, news: () => ctx.again() };
}
