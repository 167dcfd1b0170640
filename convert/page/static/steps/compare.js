// Step 6: body, pattern and block side by side, each with a sentence.

import { drawn, h } from "/static/dom.js";
import { capital, filled, kindWords, words } from "/static/words.js";
import { doubts } from "/static/parts/trouble.js";
import { needs } from "/static/parts/needs.js";
import { ofPaper } from "/static/lengths.js";

const t = words.compare;

export async function build(ctx) {
  let answer;
  try { answer = await ctx.job.get("/compare"); } catch (err) {
    return needs(ctx, err, { title: t.nothing, text: t.nothing_words, steps: ["maker", "seams"] });
  }
  const rows = answer.rows ?? [];
  const one = (row) => h("li", { class: "card compared" },
    h("h2", {}, capital(row.name)), h("p", {}, row.sentence), row.svg ? pictured(row) : null,
    row.estimated || row.body_is_estimated ? h("p", { class: "quiet" }, t.estimated) : null,
    row.pattern_uncertainty_mm ? h("p", { class: "quiet small" }, filled(t.details, { length: ofPaper(Math.max(row.pattern_uncertainty_mm, 1), ctx.unit) })) : null);
  return {
    element: h("div", { class: "work" },
      h("section", { class: "ask" }, h("h1", {}, t.question), h("p", {}, t.words)),
      (answer.together ?? []).map((one) => h("section", { class: "card together" }, h("h2", {}, filled(t.together, { kind: kindWords(one.piece) })), drawn(one.svg, filled(t.together, { kind: kindWords(one.piece) })), h("p", { class: "quiet small" }, t.together_key), one.sentences.map((said) => h("p", {}, said)))),
      answer.svg && !rows.some((row) => row.svg) ? h("div", { class: "card" }, drawn(answer.svg, t.question)) : null,
      h("ul", { class: "compare-list" }, rows.map(one)), doubts(answer.notes),
      h("div", { class: "answers stick" }, h("button", { onclick: () => ctx.go("maker") }, t.go_maker), h("button", { class: "main", onclick: ctx.fine }, t.right))),
  };
}

/** The drawing; its words once more below it, for where it is too small to read. */
function pictured(row) {
  const svg = drawn(row.svg, row.sentence);
  const words_ = [...svg.querySelectorAll("text")].sort((a, b) => Number(a.getAttribute("x")) - Number(b.getAttribute("x"))).map((one) => one.textContent.trim()).filter((one) => one && !/\d/.test(one));
  return [svg, h("p", { class: "ends", "aria-hidden": "true" }, words_.map((one) => h("span", {}, one)))];
}
