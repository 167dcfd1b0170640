// Step 7: the moves one by one with before and after; an amount is changed with a slider and all that follows moves with it.

import { afterQuiet, atMost, drawn, h, put, say } from "/static/dom.js";
import { send } from "/static/server.js";
import { capital, filled, kindWords, plural, words } from "/static/words.js";
import { doubts } from "/static/parts/trouble.js";
import { needs } from "/static/parts/needs.js";
import { pieceDrawing } from "/static/parts/drawing.js";
import { ofPaper, stepOf } from "/static/lengths.js";

const t = words.block, TRY_MS = 60, KEEP_MS = 600;

export async function build(ctx) {
  const { job, unit } = ctx;
  let block;
  try { block = await job.get("/block"); } catch (err) {
    return needs(ctx, err, { title: t.nothing, steps: ["seams", "maker"] });
  }
  let at = 0, amounts = {}, choices = {}, number = 0;
  const suggested = new Map(block.moves.map((move) => [move.id, move.suggested_mm ?? move.amount_mm]));
  const picture = h("div", { class: "move-picture" }), side = h("div", { class: "after" }), ask = h("section", { class: "ask" }), kept = h("span", { class: "quiet small", role: "status" });
  const choiceBox = h("section", { class: "choices-box" }), checks = h("section", { class: "checks" }), whole = h("section", { class: "whole-block" });
  const move = () => block.moves[at];

  const tryOut = atMost(TRY_MS, async () => {
    const mine = (number += 1);
    try {
      const answer = await send("POST", job.url("/block/try"), { amounts, choices });
      if (mine !== number) return;
      block = answer;
      drawResult();
    } catch (err) { if (mine === number) ctx.fail(err); }
  });
  const keep = afterQuiet(KEEP_MS, async () => {
    kept.textContent = t.keeping;
    try {
      const answer = await job.change("PUT", "/block", { amounts, choices });
      number += 1;
      block = answer.moves ? answer : await job.get("/block");
      at = Math.min(at, Math.max(0, block.moves.length - 1));
      kept.textContent = t.kept;
      await job.unmark(["block"]);
      draw();
    } catch (err) { kept.textContent = ""; ctx.fail(err); }
  });

  const amountWords = (mm) => (Math.abs(mm) < 0.05 ? ofPaper(0, unit) : mm < 0 ? filled(t.opposite, { length: ofPaper(-mm, unit) }) : ofPaper(mm, unit));
  function set(id, mm) {
    amounts = { ...amounts, [id]: mm };
    tryOut();
    keep();
  }

  function slider(one) {
    const step = one.step ?? stepOf(unit), output = h("output", { class: "amount number", for: "amount" }, amountWords(one.amount_mm));
    const range = h("input", { type: "range", id: "amount", min: one.low, max: one.high, step: "any", value: one.amount_mm, "aria-valuetext": amountWords(one.amount_mm) });
    const show = (mm) => { output.textContent = amountWords(mm); range.setAttribute("aria-valuetext", amountWords(mm)); };
    const to = (mm) => { const kept_ = Math.max(one.low, Math.min(one.high, mm)); range.value = kept_; show(kept_); set(one.id, kept_); };
    range.addEventListener("input", () => { const mm = Math.round(Number(range.value) / step) * step; show(mm); set(one.id, Math.max(one.low, Math.min(one.high, mm))); });
    range.addEventListener("keydown", (event) => {
      const by = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageUp: 5, PageDown: -5 }[event.key];
      if (by) { event.preventDefault(); to(Number(range.value) + by * step); }
    });
    const back = suggested.get(one.id);
    return h("div", { class: "amount-box card" }, h("label", { for: "amount" }, t.amount, ": ", output), range,
      h("div", { class: "row" }, h("button", { class: "small", onclick: () => to(Number(range.value) - step) }, t.less), h("button", { class: "small", onclick: () => to(Number(range.value) + step) }, t.more),
        back !== undefined && Math.abs(back - one.amount_mm) > 0.05 ? h("button", { class: "small plain", onclick: () => to(back) }, t.suggested) : null, kept));
  }

  function choose(n) {
    keep.now();
    at = n;
    draw();
    ask.querySelector("h1").focus();
    say(filled(t.move_of, { n: at + 1, of: block.moves.length }));
  }

  function draw() {
    const one = move();
    put(ask, h("h1", { tabindex: "-1" }, t.question), h("p", {}, t.words));
    put(side, one ? [
      h("p", { class: "quiet" }, filled(t.move_of, { n: at + 1, of: block.moves.length }), `: ${kindWords(one.piece)}`),
      h("p", { class: "lead move-sentence" }, one.sentence), one.low === undefined ? null : slider(one),
      h("div", { class: "row" }, h("button", { class: "small", "aria-disabled": String(at === 0), onclick: () => { if (at > 0) choose(at - 1); } }, t.previous), h("button", { class: "small", "aria-disabled": String(at >= block.moves.length - 1), onclick: () => { if (at < block.moves.length - 1) choose(at + 1); } }, t.next)),
      h("details", {}, h("summary", {}, t.all), h("ol", { class: "move-list" }, block.moves.map((each, n) => h("li", {}, h("button", { class: "edge-row", "aria-pressed": String(n === at), onclick: () => choose(n) }, h("span", {}, capital(each.move), h("small", { class: "quiet" }, ` ${kindWords(each.piece)}`)), h("span", { class: "number" }, amountWords(each.amount_mm))))))),
    ] : h("p", {}, t.no_moves));
    drawChoices();
    drawResult();
  }

  function drawChoices() {
    put(choiceBox, ["ease", "darts"].filter((key) => block.choices?.[key]?.options?.length).map((key) => h("fieldset", {}, h("legend", {}, t[key]), h("div", { class: "row" },
      block.choices[key].options.map((option) => h("label", { class: "tick" }, h("input", { type: "radio", name: key, checked: block.choices[key].value === option.id, onchange: () => { choices = { ...choices, [key]: option.id }; amounts = {}; tryOut(); keep(); } }), option.words))))));
  }

  function drawResult() {
    const one = move(), svg = one?.svg_before_after ?? one?.svg;
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
