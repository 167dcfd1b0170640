// Before there is a job: the demo, a new one, or one begun earlier.

import { h } from "/static/dom.js";
import { get, send } from "/static/server.js";
import { words, plural } from "/static/words.js";
import { kindDrawing } from "/static/parts/kinds.js";

export async function build({ open, fail }) {
  const { jobs = [], demo = true, open: only, stops = false } = await get("/api/jobs");
  // started on one job's folder: straight to it; a second way here is the name at the top
  if (only && !location.hash) open(only);
  const t = words.start;
  const make = async (body) => {
    try { open((await send("POST", "/api/jobs", body)).id); } catch (err) { fail(err); }
  };
  /** End the program; the page says that it may be closed. */
  const stop = async () => {
    try {
      await send("POST", "/api/stop", {});
      document.getElementById("here").replaceChildren(h("section", { class: "ask" }, h("h1", { tabindex: "-1" }, t.stopped), h("p", {}, t.stopped_words)));
      document.querySelector("h1").focus();
    } catch (err) { fail(err); }
  };
  const title = h("input", { type: "text", id: "new-title", maxlength: 120, placeholder: "", autocomplete: "off" });
  const form = h("form", { class: "card", onsubmit: (event) => { event.preventDefault(); make({ title: title.value.trim() || words.untitled }); } },
    h("h2", {}, t.fresh), h("label", { for: "new-title" }, t.name), title,
    h("div", { class: "answers" }, h("button", { class: "main" }, t.begin)));
  const trial = demo ? h("section", { class: "card" }, h("h2", {}, t.demo), h("p", {}, t.demo_words),
    h("div", { class: "row" }, h("button", { onclick: () => make({ demo: true }) }, t.demo_go))) : null;
  const earlier = jobs.length ? h("section", { class: "earlier" }, h("h2", {}, t.earlier),
    h("ul", { class: "jobs" }, jobs.map((job) => h("li", {},
      h("a", { class: "card", href: `#/${encodeURIComponent(job.id)}` },
        h("strong", {}, job.title || words.untitled),
        h("span", { class: "quiet small" }, job.steps_done ? plural(t.steps_done, job.steps_done) : t.not_begun)))))) : null;
  return {
    element: h("div", { class: "start" },
      h("section", { class: "welcome" },
        h("div", { class: "pieces", "aria-hidden": "true" }, ["bodice back", "bodice front", "sleeve", "skirt front"].map(kindDrawing)),
        h("h1", {}, t.question), h("p", { class: "lead" }, t.lead)),
      h("div", { class: "two" }, form, trial), earlier,
      h("p", { class: "quiet" }, t.private),
      stops ? h("p", {}, h("button", { onclick: stop }, t.stop), " ", h("span", { class: "quiet" }, t.stop_words)) : null),
  };
}
