// A fitter's own sentence: said, understood or asked back; what is only a sign is answered with its usual causes.

import { drawn, h, put, say } from "/static/dom.js";
import { filled, words } from "/static/words.js";

const t = words.toile;

/** The field and its answer. `choose(place, on)` goes to how much; `carry(text)` does what was understood. */
export function saidForm(ctx, { choose, carry }) {
  const field = h("input", { type: "text", id: "said", maxlength: 300, autocomplete: "off", "aria-describedby": "said-hint" });
  const answer = h("div", { "aria-live": "polite" });
  const pictures = (one) => h("div", { class: "said-pictures" }, one.pictures.map((svg) => drawn(svg, one.question)));
  const chooser = (one, label) => one.place ? h("button", { class: "small", type: "button", onclick: () => choose(one.place, one.on) }, label) : null;
  function show(found) {
    const passed = found.passed_over.map((word) => h("p", { class: "quiet" }, word));
    if (found.becomes === "done") {
      put(answer, h("p", {}, filled(t.understood, { sentence: found.sentence })), h("button", { class: "main", type: "button", onclick: () => carry(found.text) }, t.so_it_is));
    } else if (found.becomes === "likely") {
      put(answer, h("p", {}, found.sentence), passed, h("ol", { class: "said-causes" }, found.choices.map((one) => h("li", {}, h("p", {}, one.why), pictures(one), chooser(one, t.this_one)))));
    } else {
      put(answer, h("p", {}, found.sentence), passed, found.choices.map((one) => [pictures(one), chooser(one, t.say_how_much)]));
    }
    say(found.sentence);
  }
  async function ask(event) {
    event.preventDefault();
    if (!field.value.trim()) { field.focus(); return; }
    try { show(await ctx.job.get(`/toile/say?text=${encodeURIComponent(field.value.trim())}`)); } catch (err) { ctx.fail(err); }
  }
  return h("form", { class: "said", onsubmit: ask }, h("label", { for: "said" }, t.say_label), h("p", { class: "quiet small", id: "said-hint" }, t.say_hint), h("div", { class: "row" }, field, h("button", {}, t.say_it)), answer);
}
