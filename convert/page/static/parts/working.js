// What is being worked on, how far it is, and a way to stop it.

import { h } from "/static/dom.js";
import { words, filled, kindWords } from "/static/words.js";

export function working(job, only) {
  const rows = [...job.work].filter(([piece]) => !only || piece === only).map(([piece, at]) => {
    const kind = kindWords(job.piece(piece)?.kind ?? "");
    const known = at.of > 0;
    return h("li", {},
      h("p", {}, filled(words.working.reading, { kind }), at.stage ? h("span", { class: "quiet" }, ` ${at.stage}`) : null),
      h("progress", { max: known ? at.of : null, value: known ? at.number : undefined, "aria-label": filled(words.working.reading, { kind }) }),
      h("button", { class: "plain", onclick: () => job.stop(piece) }, words.working.stop, h("span", { class: "unseen" }, ` ${kind}`)));
  });
  return rows.length ? h("ul", { class: "working" }, rows) : null;
}
