// Every step ends with the same two answers: it looks right, or let me fix it.

import { h } from "/static/dom.js";
import { words } from "/static/words.js";

/**
 * @param {{right?: () => any, fix?: () => any, rightWords?: string, fixWords?: string, fixing?: boolean,
 *   extra?: any[]}} of
 */
export function answers({ right, fix, rightWords, fixWords, fixing = false, extra = [] }) {
  return h("div", { class: "answers stick" },
    fix ? h("button", { onclick: fix, "aria-pressed": fixing ? "true" : "false", class: "fix" }, fixWords ?? words.answers.fix) : null,
    ...extra,
    right ? h("button", { class: "main", onclick: right }, rightWords ?? words.answers.right) : null);
}

/** How sure, as a word and as filled dots: 3 measured or told, 2 deduced, 1 guessed. */
export function sureness(level, text) {
  return h("span", { class: `sure sure-${level}` }, h("span", { class: "dots", "aria-hidden": "true" },
    [1, 2, 3].map((n) => h("i", { class: n <= level ? "on" : "" }))), text ?? words.sure[level]);
}
