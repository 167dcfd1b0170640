// The nine steps as buttons sewn on one thread.

import { h, s } from "/static/dom.js";
import { words, filled } from "/static/words.js";
import { STEPS } from "/static/job.js";

const DONE = "M6.5 12.5 l3.6 3.6 l7.4 -8.2";
const HOLES = [[9.2, 9.2], [14.8, 9.2], [9.2, 14.8], [14.8, 14.8]];

function mark(state) {
  const inside = state === "done" ? s("path", { d: DONE, class: "tick" })
    : state === "stuck" ? s("path", { d: "M12 6.5 v7 M12 17 v0.6", class: "tick" })
    : HOLES.map(([x, y]) => s("circle", { cx: x, cy: y, r: 1.5, class: "hole" }));
  return s("svg", { viewBox: "0 0 24 24", class: "button-mark", "aria-hidden": "true" }, s("circle", { cx: 12, cy: 12, r: 10.4 }), inside);
}

/** Her word counts for more than the server's: a step is done once she has called all of it right. */
export function stateOf(job, step) {
  const told = job.state.steps?.find((one) => one.step === step)?.state ?? "waiting";
  if (["mat", "piece", "seams"].includes(step) && job.pieces.length) {
    if (told !== "stuck" && job.pieces.every((one) => job.seen(step, one.id))) return "done";
    return told === "done" ? "needs you" : told;
  }
  if (["compare", "block"].includes(step)) return told === "done" && !job.seen(step) ? "needs you" : told;
  return told;
}

export function thread(job, here, piece, go) {
  const number = STEPS.indexOf(here) + 1;
  const items = STEPS.map((step, at) => {
    const state = stateOf(job, step);
    const sentence = job.state.steps?.find((one) => one.step === step)?.sentence ?? "";
    return h("li", { class: `bead is-${state.replace(" ", "-")}${step === here ? " here" : ""}` },
      h("a", {
        href: `#/${encodeURIComponent(job.id)}/${step}`,
        "aria-current": step === here ? "step" : null,
        onclick: (event) => { event.preventDefault(); closeFold(event.target); go(step); },
      },
      mark(state),
      h("span", { class: "bead-words" },
        h("span", { class: "bead-name" }, `${at + 1}${"\u00a0"} ${words.steps[step].name}`),
        h("span", { class: "bead-state" }, state === "needs you" && step === here ? words.states.here : words.states[state] ?? ""),
        sentence && state === "stuck" ? h("span", { class: "unseen" }, sentence) : null)));
  });
  return h("details", { class: "thread-fold", open: wide() },
    h("summary", {}, h("span", { class: "fold-name" }, number ? filled(words.step_of, { number, of: STEPS.length }) : "", " ", h("strong", {}, words.steps[here]?.name ?? "")),
      h("span", { class: "fold-all" }, words.all_steps)),
    h("ol", { class: "beads" }, items));
}

const wide = () => window.matchMedia("(min-width: 62rem)").matches;

function closeFold(target) {
  if (!wide()) target.closest("details").open = false;
}
