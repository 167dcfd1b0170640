// Step 5: the measurement card, one measurement at a time with its drawing; slips are asked about kindly.

import { drawn, h, put, say } from "/static/dom.js";
import { get } from "/static/server.js";
import { capital, filled, words } from "/static/words.js";
import { bareNumber, ofBody } from "/static/lengths.js";

const t = words.maker;
const NOBODY = "maker"; // what an empty card calls her

export async function build(ctx) {
  const { job, unit } = ctx;
  const [all, first] = await Promise.all([measures(), job.get("/maker")]);
  let maker = first;
  const needed = neededBy(all, job.pieces);
  const pages = ["name", "size", ...needed.map((one) => one.name), "all"];
  const have = (name) => ["told", "doubtful"].includes(maker.entries?.[name]?.state);
  let at = begin();
  const root = h("section", { class: "maker" });
  function named() { return maker.name && maker.name !== NOBODY ? maker.name : ""; }

  function begin() {
    if (!named()) return 0;
    const question = maker.questions?.[0]?.names?.[0], doubtful = pages.indexOf(question);
    if (doubtful > 0) return doubtful;
    if (!maker.pattern?.size && !Object.keys(maker.pattern?.body ?? {}).length && !needed.some((one) => have(one.name))) return 1;
    const missing = needed.findIndex((one) => !have(one.name));
    return missing < 0 ? pages.length - 1 : missing + 2;
  }
  function go(n) {
    at = Math.max(0, Math.min(pages.length - 1, n));
    draw();
    root.querySelector("input, h1")?.focus();
  }
  async function change(method, path, body, then) {
    try {
      const answer = await job.change(method, path, body);
      maker = answer.entries ? answer : await job.get("/maker");
      await job.unmark(["compare", "block"]);
      then();
    } catch (err) {
      if (!err.problem) return ctx.fail(err);
      put(root.querySelector(".field-trouble"), h("p", { class: "trouble-problem" }, err.problem), h("p", {}, err.remedy));
      root.querySelector("input")?.setAttribute("aria-invalid", "true");
      root.querySelector("input")?.focus();
    }
  }

  function draw() {
    const page = pages[at];
    const done = needed.filter((one) => have(one.name)).length;
    put(root,
      h("div", { class: "beside" }, h("p", { class: "quiet" }, filled(t.how_many, { done, of: needed.length })), h("progress", { max: needed.length, value: done, "aria-label": filled(t.how_many, { done, of: needed.length }) })),
      page === "name" ? namePage() : page === "size" ? sizePage() : page === "all" ? lastPage(done) : measurePage(needed[at - 2]),
      cardList(), footer(page, done));
  }

  function footer(page, done) {
    return h("div", { class: "answers stick" },
      at > 0 ? h("button", { class: "narrow", onclick: () => go(at - 1) }, t.previous) : null,
      page !== "all" ? h("button", { class: "narrow", onclick: () => go(at + 1) }, t.next) : null,
      h("button", { class: page === "all" ? "main" : "narrow", onclick: () => ctx.go("compare") }, page === "all" ? t.finished : done ? t.enough : t.finished));
  }

  function namePage() {
    const field = h("input", { type: "text", id: "maker-name", value: named(), maxlength: 80, autocomplete: "off" });
    return h("form", { class: "one", onsubmit: (event) => { event.preventDefault(); change("PUT", "/maker", { name: field.value.trim() }, () => go(at + 1)); } },
      h("h1", {}, h("label", { for: "maker-name" }, t.name)), h("p", {}, t.name_words), h("div", { class: "row" }, field, h("button", { class: "main" }, t.keep)), h("div", { class: "field-trouble", role: "alert" }));
  }

  function sizePage() {
    const charts = maker.charts ?? [], pattern = maker.pattern ?? {};
    const sizes = charts.find((one) => (one.id ?? one.name) === pattern.chart)?.sizes ?? [];
    const setting = (body) => change("PUT", "/pattern", body, async () => { maker = await job.get("/maker"); draw(); });
    const chartButton = (id, name) => h("li", {}, h("button", { class: "choice", "aria-pressed": String((pattern.chart ?? null) === id), onclick: () => setting({ chart: id, size: null }) }, name));
    const told = Object.entries(pattern.body ?? {});
    return h("div", { class: "one" }, h("h1", { tabindex: "-1" }, t.question_size), h("p", {}, t.size_words),
      told.length ? h("section", { class: "card" }, h("h2", {}, t.own), h("ul", { class: "found" }, told.map(([name, value]) => h("li", {}, capital(name), ": ", h("span", { class: "number" }, typeof value === "number" ? ofBody(value, unit) : String(value)))))) : null,
      h("h2", {}, t.chart), h("ul", { class: "choices" }, charts.map((one) => chartButton(one.id ?? one.name, one.words ?? one.name)), chartButton(null, t.no_chart)),
      sizes.length ? [h("h2", {}, t.size), h("div", { class: "row" }, sizes.map((size) => h("button", { class: "small", "aria-pressed": String(String(pattern.size) === String(size)), onclick: () => setting({ chart: pattern.chart, size: String(size) }) }, String(size))))] : null,
      h("div", { class: "field-trouble", role: "alert" }));
  }

  function measurePage(measure) {
    const entry = maker.entries?.[measure.name] ?? {}, told = have(measure.name);
    const field = h("input", { type: "text", inputmode: "text", id: "measure", class: "big-field", value: told ? ownText(entry) : "", autocomplete: "off", size: 7, "aria-describedby": "measure-how" });
    const keep = () => change("PUT", "/maker", { entries: { [measure.name]: field.value.trim() || null } }, () => {
      const asked = questionFor(measure.name);
      if (asked) { draw(); say(asked.sentence); root.querySelector(".slip h2")?.focus(); } else go(at + 1);
    });
    return h("form", { class: "one measuring", onsubmit: (event) => { event.preventDefault(); keep(); } },
      h("div", { class: "measure-title" }, h("h1", { tabindex: "-1" }, capital(measure.name)), measure.words ? h("p", { class: "lead" }, capital(measure.words), ".") : null),
      measure.svg ? h("div", { class: "figure" }, drawn(measure.svg, measure.words)) : null,
      h("div", { class: "measure-body" }, h("p", { id: "measure-how" }, measure.how),
        questionFor(measure.name) ? slip(questionFor(measure.name)) : null,
        h("label", { for: "measure" }, t.field), h("div", { class: "row" }, field, h("span", { class: "unit-word" }, words.units[unit]), h("button", { class: "main" }, t.keep)),
        h("div", { class: "field-trouble", role: "alert" }),
        h("p", { class: "quiet" }, told ? filled(t.have, { length: ofBody(entry.mm, unit) }) : t.missing),
        told ? h("button", { type: "button", class: "plain small", onclick: () => change("PUT", "/maker", { entries: { [measure.name]: null } }, draw) }, t.forget) : null));
  }
  const ownText = (entry) => (entry.text && !/[a-z"]/i.test(entry.text) ? entry.text : entry.mm ? bareNumber(entry.mm, unit) : entry.text ?? "");
  const questionFor = (name) => (maker.questions ?? []).find((one) => one.names?.includes(name));

  function slip(question) {
    const answer = (which) => change("POST", "/maker/answers", { id: question.id, answer: which }, () => { const more = maker.questions?.[0]?.names?.[0]; if (more) go(pages.indexOf(more)); else go(at + 1); });
    const offer = typeof question.offer === "number" ? ofBody(question.offer, unit) : question.offer?.words ?? (question.offer?.mm ? ofBody(question.offer.mm, unit) : question.offer);
    return h("section", { class: "slip card" }, h("h2", { tabindex: "-1" }, t.slip_question), h("p", {}, question.sentence),
      h("div", { class: "row" }, offer ? h("button", { type: "button", onclick: () => answer("offer") }, filled(t.slip_offer, { length: offer })) : null, h("button", { type: "button", onclick: () => answer("right") }, t.slip_right)));
  }

  function lastPage(done) {
    return h("div", { class: "one" }, h("h1", { tabindex: "-1" }, done === needed.length ? t.all_done : filled(t.how_many, { done, of: needed.length })), done === needed.length ? h("p", {}, t.all_done_words) : null,
      (maker.questions ?? []).map(slip), h("div", { class: "field-trouble", role: "alert" }));
  }

  function cardList() {
    return h("details", { class: "whole-card", open: pages[at] === "all" }, h("summary", {}, t.card), h("p", { class: "quiet" }, t.card_words),
      h("ul", { class: "card-list" }, [["name", t.name_step, named()], ["size", t.pattern_step, maker.pattern?.size ?? ""]].map(([page, name, value]) => h("li", {}, h("button", { class: "edge-row", onclick: () => go(pages.indexOf(page)) }, h("span", {}, name), h("span", { class: "number" }, value || "")))),
        needed.map((one, n) => { const entry = maker.entries?.[one.name] ?? {}; return h("li", {}, h("button", { class: "edge-row", onclick: () => go(n + 2) }, h("span", {}, capital(one.name)),
          h("span", { class: have(one.name) ? "number" : "quiet" }, have(one.name) ? ofBody(entry.mm, unit) : entry.mm ? filled(t.estimated, { length: ofBody(entry.mm, unit) }) : t.not_measured))); })));
  }
  draw();
  return { element: root };
}

let known = null;
const measures = async () => {
  if (!known) { const answer = await get("/api/measures"); known = answer.measures ?? answer; }
  return known;
};

/** Those that the pieces at hand need; all if nothing says which. */
function neededBy(all, pieces) {
  const groups = new Set(pieces.map((piece) => piece.kind.split(" ")[0]));
  const wanted = all.filter((one) => { const of = [one.group ?? one.groups ?? one.parts ?? []].flat(); return !of.length || !groups.size || of.some((part) => groups.has(part)); });
  return wanted.length ? wanted : all;
}
