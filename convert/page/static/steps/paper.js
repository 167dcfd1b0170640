// Step 8: which paper, how large; the sheets seen beforehand; the printer tried; the files.

import { afterQuiet, drawn, h, put, say } from "/static/dom.js";
import { Trouble } from "/static/server.js";
import { filled, plural, words } from "/static/words.js";
import { needs } from "/static/parts/needs.js";
import { trouble } from "/static/parts/trouble.js";
import { s } from "/static/dom.js";
import { ofPaper, withUnit } from "/static/lengths.js";

const t = words.paper;
const PAPERS = [["A4", 210, 297], ["A3", 297, 420], ["Letter", 216, 279], ["Tabloid", 279, 432], ["A0", 841, 1189]];
const LINE_MM = 100;

export async function build(ctx) {
  const { job, unit } = ctx;
  const chosen = { paper: unit === "in" ? "Letter" : "A4", scale: "full", allowance: "", square: "", ...(job.state.place?.paper ?? {}) };
  const query = () => new URLSearchParams({ paper: chosen.paper, scale: chosen.scale, allowance: chosen.allowance, square: chosen.square });
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
    put(files);
    drawOptions();
    look();
  }
  async function make(body, into) {
    put(into, h("p", {}, t.making), h("progress", { "aria-label": t.making }));
    try {
      const { files: made } = await job.change("POST", "/files", { ...chosen, allowance: chosen.allowance || null, square: chosen.square || null, ...body });
      const main = body.test ? made[0]?.name : chosen.allowance ? "toile.pdf" : { full: "block.pdf", half: "half.pdf", quarter: "practice.pdf" }[chosen.scale];
      const link = (file) => h("li", {}, h("a", { class: `as-button${file.name === main ? " main" : ""}`, href: job.url(`/files/${encodeURIComponent(file.id)}`), download: file.name }, `${t.download} ${file.name}`), h("span", { class: "quiet small" }, [t.what[file.what], sizeWords(file.size)].filter(Boolean).join(", ")));
      const first = made.filter((file) => file.name === main), rest = made.filter((file) => file.name !== main);
      put(into, h("h2", { tabindex: "-1" }, t.ready), h("ul", { class: "file-list" }, (first.length ? first : rest).map(link)), h("p", {}, t.print_words),
        first.length && rest.length ? h("details", {}, h("summary", {}, t.others), h("ul", { class: "file-list" }, rest.map(link))) : null);
      say(t.ready);
    } catch (err) {
      put(into, trouble(err instanceof Trouble ? err : words.trouble.ours, { close: false }));
    }
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
    const made = h("div", { "aria-live": "polite" }), field = h("input", { type: "text", id: "square", size: 8, autocomplete: "off", value: chosen.square.replace(/ (cm|in|mm)$/, "") });
    put(test, h("h2", {}, t.test), h("p", {}, t.test_words), h("div", { class: "row" }, h("button", { onclick: () => make({ test: true }, made) }, t.test_go)), made,
      h("form", { onsubmit: (event) => { event.preventDefault(); if (field.value.trim()) { set({ square: withUnit(field.value, unit) }); drawTest(); } } },
        h("label", { for: "square" }, filled(t.test_field, { length: ofPaper(LINE_MM, unit) })),
        h("div", { class: "row" }, field, h("span", {}, words.units[unit]), h("button", { class: "small" }, t.test_set), h("button", { type: "button", class: "small plain", onclick: () => { set({ square: "" }); drawTest(); } }, t.test_ok))),
      chosen.square ? h("p", { role: "status" }, filled(t.test_done, { length: chosen.square })) : null);
  }
  drawOptions();
  drawTest();
  look();
  return {
    element: h("div", { class: "work" }, h("section", { class: "ask" }, h("h1", {}, t.question)), h("div", { class: "two paper-two" }, options, preview), test, files,
      h("ul", { class: "cautions" }, t.cautions.map((one) => h("li", {}, one))),
      h("div", { class: "answers stick" }, h("button", { onclick: () => ctx.go("toile") }, t.next), h("button", { class: "main", onclick: () => { make({}, files); files.scrollIntoView({ block: "center" }); } }, t.make))),
  };
}

const sizeWords = (bytes) => (!bytes ? "" : bytes > 1e6 ? `${Math.round(bytes / 1e6)} ${t.sizes.MB}` : `${Math.max(1, Math.round(bytes / 1e3))} ${t.sizes.kB}`);
