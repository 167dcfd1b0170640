// The bar at the top: whose work, which unit.

import { h, s } from "/static/dom.js";
import { words } from "/static/words.js";

const HOLES = [[9, 9], [15, 9], [9, 15], [15, 15]];

const sign = () => s("svg", { class: "button-mark", viewBox: "0 0 24 24", "aria-hidden": "true" },
  s("circle", { cx: 12, cy: 12, r: 10 }), HOLES.map(([x, y]) => s("circle", { cx: x, cy: y, r: 1.6, class: "hole" })));

/**
 * @param {any} job
 * @param {{unit?: (unit: string) => any, rename?: (title: string) => any}} calls
 */
export function topBar(job, { unit, rename }) {
  const brand = h("p", { class: "brand" }, job
    ? h("a", { href: "#/", class: "brand-link" }, sign(), h("span", { class: "brand-word" }, " ownblock"), h("span", { class: "unseen" }, `, ${words.all_jobs}`))
    : [sign(), " ownblock"]);
  if (!job) return [brand];
  const title = h("input", {
    class: "title", value: job.state.title ?? "", "aria-label": words.job_name, maxlength: 120, spellcheck: "false",
    onchange: (event) => rename(event.target.value.trim() || words.untitled),
  });
  const choice = ["cm", "in"].map((one) => h("label", { class: "unit" },
    h("input", { type: "radio", name: "unit", value: one, checked: job.unit === one, onchange: () => unit(one) }),
    h("span", {}, words.units[one])));
  return [brand, title, h("fieldset", { class: "units" }, h("legend", { class: "unseen" }, words.unit_legend), choice)];
}
