// Step 8: which paper, how large; the sheets seen beforehand; the printer tried; the files.

import { afterQuiet, drawn, h, put, s, say, sendTyped } from "/static/dom.js";
import { Trouble } from "/static/server.js";
import { filled, plural, words } from "/static/words.js";
import { needs } from "/static/parts/needs.js";
import { trouble } from "/static/parts/trouble.js";
import { ofPaper, withUnit } from "/static/lengths.js";

const t = words.paper;
const PAPERS = [["A4", 210, 297], ["A3", 297, 420], ["Letter", 216, 279], ["Tabloid", 279, 432], ["A0", 841, 1189]];
const SIDE_MM = { cm: 100, in: 101.6 }; // of the test square: 10 cm, 4 inches

export async function build(ctx) {
  const { job, unit } = ctx;
  const chosen = { paper: unit === "in" ? "Letter" : "A4", scale: "full", allowance: "", square: "", square_of: unit, ...(job.state.place?.paper ?? {}) };
  const query = () => new URLSearchParams({ paper: chosen.paper, scale: chosen.scale, allowance: chosen.allowance, square: chosen.square, square_of: chosen.square_of });
  let first = null;
  const preview = h("div", { class: "sheets", "aria-live": "polite" }), files = h("section", { class: "files", "aria-live": "polite" }), test = h("section", { class: "card printer" }), options = h("section", { class: "paper-options" });
  try { first = await job.get(`/sheets?${query()}`); } catch (err) {
    if (err.code === "words" || err.code === "input" || err.status >= 500) first = null; // said beside the choices
    else return needs(ctx, err, { title: t.no_block, steps: ["block", "seams", "maker"] });
  }
  let papers = PAPERS.map(([id, width_mm, height_mm]) => ({ id, name: id, width_mm, height_mm })), turn = 0;

  const look = afterQuiet(250, async () => {
    const mine = (turn += 1);
    preview.classList.add("making");
    try {
      const answer = first ?? await job.get(`/sheets?${query()}`);
      first = null;
      if (mine !== turn) return;
      if (answer.papers?.length && answer.papers.length !== papers.length) { papers = answer.papers; drawOptions(); }
      const pages = answer.pages ?? [];
      put(preview, h("h2", {}, t.preview), h("p", {}, plural(t.sheets, answer.count ?? pages.length)), answer.svg ? drawn(answer.svg, t.preview) : null,
        h("ol", { class: "sheet-list", tabindex: "0", "aria-label": t.preview }, pages.map((page, n) => h("li", {}, page.svg ? drawn(page.svg, filled(t.sheet_alt, { n: page.number ?? n + 1, name: page.name ?? "" })) : null, h("span", { class: "small" }, page.name ?? String(n + 1))))));
    } catch (err) {
      if (mine === turn) put(preview, trouble(err instanceof Trouble ? err : words.trouble.ours, { close: false }));
    }
    preview.classList.remove("making");
  });
  function set(change) {
    Object.assign(chosen, change);
    job.keep({ paper: { ...chosen } });
    drawOptions();
    look();
  }
  async function make() {
    put(files, h("h2", {}, t.making), h("progress", { "aria-label": t.making }));
    try {
      drawFiles((await job.change("POST", "/files", { ...chosen, allowance: chosen.allowance || null, square: chosen.square || null })).files);
      say(t.ready);
      files.scrollIntoView({ block: "nearest" });
    } catch (err) {
      drawFiles();
      files.prepend(trouble(err instanceof Trouble ? err : words.trouble.ours, { close: false }));
    }
  }
  const link = (file, main) => h("li", {}, h("a", { class: `as-button${main ? " main" : ""}`, href: job.url(`/files/${encodeURIComponent(file.id)}`), download: file.name }, t.download, h("span", { class: "file-name" }, file.name)), h("span", { class: "quiet small" }, sizeWords(file.size)));
  let made = [];
  /** One list: the sheets first, then all else; what was made of an earlier block stands apart and says so. */
  function drawFiles(now = made) {
    made = now;
    const good = made.filter((file) => !file.stale), stale = made.filter((file) => file.stale && file.what === "print"), sheets = good.filter((file) => file.what === "print"), rest = good.filter((file) => file.what !== "print");
    put(files,
      stale.length && !sheets.length ? h("section", { class: "doubts stale" }, h("h2", { tabindex: "-1" }, t.stale), h("p", {}, t.stale_words)) : null,
      sheets.length ? [h("h2", { tabindex: "-1" }, t.ready), h("ul", { class: "file-list" }, sheets.map((file, n) => link(file, n === 0))), h("p", {}, t.print_words)] : null,
      rest.length ? h("details", {}, h("summary", {}, t.others), h("ul", { class: "file-list" }, rest.map((file) => link(file)))) : null,
      stale.length ? h("details", {}, h("summary", {}, t.stale_list), h("ul", { class: "file-list stale" }, stale.map((file) => link(file)))) : null);
  }
  async function makeTest(into) {
    put(into, h("p", {}, t.making), h("progress", { "aria-label": t.making }));
    try {
      const { files: [file] } = await job.change("POST", "/files", { paper: chosen.paper, test: true });
      put(into, h("ul", { class: "file-list" }, link(file, true)));
    } catch (err) { put(into, trouble(err instanceof Trouble ? err : words.trouble.ours, { close: false })); }
  }
  function drawOptions() {
    const paperDrawing = (one) => { const k = 40 / 1189, w = one.width_mm * k, tall = (one.height_mm ?? 1189) * k; const f = Math.max(1, Math.min(36 / tall, 2.6)); return s("svg", { viewBox: "0 0 48 44", class: "paper-drawing", "aria-hidden": "true" }, s("rect", { x: 24 - (w * f) / 2, y: 42 - tall * f, width: w * f, height: tall * f, rx: 1 })); };
    const choice = (name, value, label, drawing, extra) => h("li", {}, h("label", { class: "choice-tile" }, h("input", { type: "radio", name, value, checked: chosen[name] === value, onchange: () => set({ [name]: value }) }), drawing, h("span", {}, label), extra));
    const width = unit === "in" ? ["5/8 in", "1/2 in", "1 in"] : ["1.5 cm", "1 cm", "2 cm"];
    put(options,
      h("fieldset", {}, h("legend", {}, t.papers), h("ul", { class: "choice-tiles" }, papers.map((one) => choice("paper", one.id, one.name ?? one.id, paperDrawing(one))))),
      h("fieldset", {}, h("legend", {}, t.scale), h("ul", { class: "choice-tiles" }, Object.entries(t.scales).map(([id, name], n) => choice("scale", id, name, s("svg", { viewBox: "0 0 48 44", class: "paper-drawing", "aria-hidden": "true" }, s("path", { d: "M8 12 C14 13 18 10 20 4 L33 8 C30 16 32 24 40 25 L37 42 L8 42 Z", transform: `translate(24 42) scale(${[1, 0.6, 0.35][n]}) translate(-24 -42)` })))))),
      h("fieldset", {}, h("legend", {}, t.allowance), h("ul", { class: "choice-tiles" }, [["", t.without], ...width.map((one) => [one, one])].map(([value, name]) => choice("allowance", value, name, null)))));
  }
  function drawTest() {
    const sheet = h("div", { "aria-live": "polite" }), field = h("input", { type: "text", id: "square", size: 8, autocomplete: "off", inputmode: "decimal", value: chosen.square_of === unit ? chosen.square.replace(/ (cm|in)$/, "") : "" });
    field.dataset.was = field.value;
    const corrected = (square) => { set({ square, square_of: unit }); drawTest(); test.querySelector("h2").focus(); };
    put(test, h("h2", { tabindex: "-1" }, t.test), h("p", {}, filled(t.test_words, { length: ofPaper(SIDE_MM[unit], unit) })), h("div", { class: "row" }, h("button", { onclick: () => makeTest(sheet) }, t.test_go)), sheet,
      h("form", { "data-keep": true, onsubmit: (event) => { event.preventDefault(); if (field.value.trim()) corrected(withUnit(field.value, unit)); } },
        h("label", { for: "square" }, t.test_field),
        h("div", { class: "row" }, field, h("span", {}, words.units[unit]), h("button", { class: "small" }, t.test_set))),
      chosen.square ? h("div", { class: "row" }, h("p", { role: "status" }, filled(t.test_done, { length: ofPaper(SIDE_MM[chosen.square_of], chosen.square_of), seen: chosen.square })), h("button", { class: "small plain", onclick: () => corrected("") }, t.test_none)) : null);
  }
  drawOptions();
  drawTest();
  look();
  const refresh = async () => { try { drawFiles((await job.get("/files")).files); } catch (err) { ctx.fail(err); } };
  await refresh();
  return {
    news: () => { refresh(); look(); },
    leave: () => sendTyped(test),
    element: h("div", { class: "work" }, h("section", { class: "ask" }, h("h1", {}, t.question)), h("div", { class: "two paper-two" }, options, preview), test, files,
      h("ul", { class: "cautions" }, t.cautions.map((one) => h("li", {}, one))),
      h("div", { class: "answers stick" }, h("button", { onclick: () => ctx.go("toile") }, t.next), h("button", { class: "main", onclick: () => { sendTyped(test); make(); } }, t.make))),
  };
}

const sizeWords = (bytes) => (!bytes ? "" : bytes > 1e6 ? `${Math.round(bytes / 1e6)} ${t.sizes.MB}` : `${Math.max(1, Math.round(bytes / 1e3))} ${t.sizes.kB}`);
