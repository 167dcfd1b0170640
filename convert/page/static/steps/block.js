// Step 7: the moves one by one with before and after; an amount is changed with a slider and all that follows moves with it.

import { afterQuiet, drawn, h, put, say } from "/static/dom.js";
import { send } from "/static/server.js";
import { capital, filled, kindWords, plural, words } from "/static/words.js";
import { doubts } from "/static/parts/trouble.js";
import { needs } from "/static/parts/needs.js";
import { pieceDrawing } from "/static/parts/drawing.js";
import { ofPaper, stepOf } from "/static/lengths.js";

const t = words.block, KEEP_MS = 600;

export async function build(ctx) {
  const { job, unit } = ctx;
  let block;
  try { block = await job.get("/block"); } catch (err) {
    return needs(ctx, err, { title: t.nothing, steps: ["seams", "maker"] });
  }
  let current = block.moves[0]?.id ?? null, amounts = {}, choices = {}, number = 0;
  const pictures = new Map(); // trials bring only the picture of what was tried
  const remember = () => { for (const one of block.moves) if (one.svg_before_after) pictures.set(one.id, one.svg_before_after); };
  remember();
  const picture = h("div", { class: "move-picture" }), side = h("div", { class: "after" }), ask = h("section", { class: "ask" }), kept = h("span", { class: "quiet small", role: "status" }), wrong = h("div", { class: "field-trouble", role: "alert" });
  const allMoves = h("ol", { class: "move-list" });
  const choiceBox = h("section", { class: "choices-box" }), checks = h("section", { class: "checks" }), whole = h("section", { class: "whole-block" });
  const index = () => block.moves.findIndex((one) => one.id === current);
  /** The move on the table: one of the block's, or one that only a maker asks for, still at nothing. */
  const move = () => block.moves[index()] ?? more().find((one) => one.id === current) ?? block.moves[0];
  const more = () => (block.more_moves ?? []).map((one) => ({ ...one, amount_mm: amounts[one.id] ?? 0, suggested_mm: 0, sentence: `${capital(one.move)}: ${t.nothing_done}` }));

  // one trial at a time, with the newest amounts: what comes faster than the answers is left out
  let trying = null, wanted = false;
  async function tryOut() {
    wanted = true;
    trying ??= (async () => {
      while (wanted) {
        wanted = false;
        const mine = number;
        try {
          const answer = await send("POST", job.url("/block/try"), { amounts, choices });
          if (mine !== number) continue; // kept meanwhile
          block = answer;
          remember();
          drawResult();
        } catch (err) { if (err.code !== "input") ctx.fail(err); } // what can't be is said when it is kept
      }
      trying = null;
    })();
  }
  const keep = afterQuiet(KEEP_MS, async () => {
    kept.textContent = t.keeping;
    put(wrong);
    wanted = false; // keeping brings the newest anyway
    try {
      const answer = await job.change("PUT", "/block", { amounts, choices });
      number += 1;
      block = answer;
      remember();
      kept.textContent = t.kept;
      await job.unmark(["block"]);
      drawChoices();
      drawResult(); // the slider stays in her hand
    } catch (err) {
      kept.textContent = "";
      amounts = {};
      choices = {};
      try { block = await job.get("/block"); number += 1; remember(); draw(); } catch { /* said below */ } // as it is kept, not as it was tried
      if (!err.problem || err.code === "stale") return ctx.fail(err);
      put(wrong, h("p", { class: "trouble-problem" }, err.problem), h("p", {}, err.remedy));
    }
    return undefined;
  });

  const amountWords = (mm) => ofPaper(Math.abs(mm), unit); // which way is said in the sentence
  /** What is done, in words, for an amount either way. */
  const sentenceOf = (one, mm) => (one.words && Math.abs(mm) >= 0.05 ? filled(mm < 0 ? one.words.less : one.words.more, { amount: ofPaper(Math.abs(mm), unit) }) : Math.abs(mm) < 0.05 ? `${capital(one.move)}: ${t.nothing_done}` : one.sentence);
  function set(id, mm) {
    amounts = { ...amounts, [id]: mm };
    tryOut();
    keep();
  }

  function slider(one) {
    const step = one.step ?? stepOf(unit), output = h("output", { class: "amount number", for: "amount" }, amountWords(one.amount_mm));
    const range = h("input", { type: "range", id: "amount", min: one.low, max: one.high, step: "any", value: one.amount_mm, "aria-valuetext": sentenceOf(one, one.amount_mm) });
    const show = (mm) => { output.textContent = amountWords(mm); range.setAttribute("aria-valuetext", sentenceOf(one, mm)); const said = side.querySelector(".move-sentence"); if (said) said.textContent = sentenceOf(one, mm); };
    const to = (mm) => { const kept_ = Math.max(one.low, Math.min(one.high, mm)); range.value = kept_; show(kept_); set(one.id, kept_); };
    range.addEventListener("input", () => { const mm = Math.round(Number(range.value) / step) * step; show(mm); set(one.id, Math.max(one.low, Math.min(one.high, mm))); });
    range.addEventListener("keydown", (event) => {
      const by = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageUp: 5, PageDown: -5 }[event.key];
      if (by) { event.preventDefault(); to(Number(range.value) + by * step); }
    });
    const back = one.suggested_mm;
    return h("div", { class: "amount-box card" }, h("label", { for: "amount" }, t.amount, ": ", output), range,
      h("div", { class: "row" }, h("button", { class: "small", onclick: () => to(Number(range.value) - step) }, t.less), h("button", { class: "small", onclick: () => to(Number(range.value) + step) }, t.more),
        back !== undefined ? h("button", { class: "small plain", onclick: () => to(back) }, t.suggested) : null, kept));
  }

  function choose(id) {
    keep.now();
    current = id;
    draw();
    ask.querySelector("h1").focus();
    say(`${move().sentence}`);
  }
  const place = () => (index() < 0 ? kindWords(move().piece) : `${filled(t.move_of, { n: index() + 1, of: block.moves.length })}: ${kindWords(move().piece)}`);

  function draw() {
    const one = move();
    put(ask, h("h1", { tabindex: "-1" }, t.question), h("p", {}, t.words));
    put(side, one ? [
      h("p", { class: "quiet move-place" }, place()),
      h("p", { class: "lead move-sentence" }, one.sentence), wrong, one.low === undefined ? null : slider(one),
      h("div", { class: "row" }, h("button", { class: "small", onclick: () => { const at = Math.max(0, index() - 1); if (at !== index()) choose(block.moves[at].id); } }, t.previous), h("button", { class: "small", onclick: () => { const at = Math.min(block.moves.length - 1, index() + 1); if (at !== index()) choose(block.moves[at].id); } }, t.next)),
      block.moves.some((each) => each.told) ? h("button", { class: "small", onclick: () => { for (const each of block.moves) if (each.told) amounts = { ...amounts, [each.id]: null }; keep(); keep.now().then(draw); } }, t.suggested_all) : null,
      h("details", {}, h("summary", {}, t.all), allMoves),
      block.more_moves?.length ? h("details", {}, h("summary", {}, t.others), h("ul", { class: "move-list" }, more().map((each) => h("li", {}, moveButton(each))))) : null,
    ] : h("p", {}, t.no_moves));
    drawChoices();
    drawResult();
  }

  const moveButton = (each) => h("button", { class: "edge-row", "aria-pressed": String(each.id === current), onclick: () => choose(each.id) },
    h("span", {}, Math.abs(each.amount_mm) < 0.05 ? capital(each.move) : each.sentence, h("small", { class: "quiet" }, ` ${kindWords(each.piece)}${each.told ? `, ${t.told}` : ""}`)));

  function drawChoices() {
    put(choiceBox, ["ease", "darts"].filter((key) => block.choices?.[key]?.options?.length).map((key) => h("fieldset", {}, h("legend", {}, t[key]), h("div", { class: "row" },
      block.choices[key].options.map((option) => h("label", { class: "tick" }, h("input", { type: "radio", name: key, checked: block.choices[key].value === option.id, onchange: () => { choices = { ...choices, [key]: option.id }; amounts = {}; tryOut(); keep(); } }), option.words))))));
  }

  function drawResult() {
    const one = move(), svg = one && (one.svg_before_after ?? pictures.get(one.id));
    put(allMoves, block.moves.map((each) => h("li", {}, moveButton(each))));
    const where = side.querySelector(".move-place");
    if (one && where) where.textContent = place();
    put(picture, svg ? [h("p", { class: "quiet small" }, t.before_after), drawn(svg, `${one.move}, ${kindWords(one.piece)}`)] : null);
    const words_ = side.querySelector(".move-sentence");
    if (one && words_) words_.textContent = one.sentence;
    const off = (block.checks ?? []).filter((check) => !check.sound);
    put(checks, h("h2", {}, t.checks), h("p", { class: off.length ? "off" : "fits" }, off.length ? plural(t.unsound, off.length) : t.sound),
      off.length ? h("ul", {}, off.map((check) => h("li", {}, check.sentence ?? `${capital(check.check)}: ${check.where}`))) : null,
      h("details", {}, h("summary", {}, t.show_checks), h("ul", { class: "found" }, (block.checks ?? []).map((check) => h("li", {}, check.sentence ?? `${capital(check.check)}, ${check.where}`, ": ", h("strong", { class: check.sound ? "fits" : "off" }, check.sound ? t.fits : t.off))))));
    put(whole, h("h2", {}, t.whole), h("div", { class: "pieces-row" }, block.pieces.map((piece) => h("figure", {}, pieceDrawing(piece, { name: filled(t.piece_alt, { kind: kindWords(piece.kind) }) }).element, h("figcaption", {}, capital(kindWords(piece.kind)))))));
  }
  draw();
  return {
    element: h("div", { class: "work" }, h("div", { class: "look" }, ask, h("div", { class: "table" }, picture), side), choiceBox, h("div", { class: "two" }, checks, whole), doubts(block.notes),
      h("div", { class: "answers stick" }, h("button", { class: "main", onclick: async () => { await keep.now(); ctx.fine(); } }, words.answers.right))),
    leave: () => keep.now(),
  };
}
