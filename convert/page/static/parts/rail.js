// The pieces of a job in a row: which one is on the table, which were called right.

import { h } from "/static/dom.js";
import { words, kindWords } from "/static/words.js";
import { kindDrawing } from "/static/parts/kinds.js";

export function piecesRail(job, step, here, go) {
  const rail = h("nav", { class: "rail", "aria-label": words.rail },
    h("ul", {}, job.pieces.map((piece) => {
      const right = job.seen(step, piece.id);
      const busy = job.work.has(piece.id);
      const state = busy ? words.states.working : piece.problem?.code?.startsWith("which") ? words.states["needs you"] : piece.state === "stuck" ? words.states.stuck : right ? words.states.done : words.states.look;
      return h("li", {}, h("a", {
        href: `#/${encodeURIComponent(job.id)}/${step}/${piece.id}`,
        class: `tab${piece.id === here ? " here" : ""}${right ? " right" : ""}`,
        "aria-current": piece.id === here ? "true" : null,
        onclick: (event) => { event.preventDefault(); go(step, piece.id); },
      }, kindDrawing(piece.kind), h("span", {}, kindWords(piece.kind), h("small", {}, state))));
    })));
  requestAnimationFrame(() => { // the piece on the table in sight, without moving the page
    const row = rail.querySelector("ul"), own = rail.querySelector(".here");
    if (own) row.scrollLeft = own.offsetLeft - row.offsetLeft - (row.clientWidth - own.clientWidth) / 2;
  });
  return rail;
}
