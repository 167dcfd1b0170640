// One shape for all that goes wrong: the problem, and what to do.

import { h } from "/static/dom.js";
import { words } from "/static/words.js";

/**
 * @param {{problem: string, remedy?: string, code?: string, status?: number}} said
 * @param {{again?: () => any, close?: boolean}} [how]
 */
export function trouble({ problem, remedy, status, code }, { again, close = true } = {}) {
  const box = h("section", { class: "trouble", role: "alert", tabindex: "-1" },
    h("p", { class: "trouble-problem" }, problem),
    remedy ? h("p", { class: "trouble-remedy" }, remedy) : null,
    h("div", { class: "row" },
      again && (code === "stale" || status === 0) ? h("button", { onclick: () => { box.remove(); again(); } }, words.trouble.look_again) : null,
      close ? h("button", { class: "plain", onclick: () => box.remove() }, words.trouble.close) : null));
  return box;
}

/** Doubts that came with a result: not faults, but worth a look. */
export function doubts(notes) {
  const texts = [...new Set((notes ?? []).map((note) => (typeof note === "string" ? note : note.text)))];
  if (!texts.length) return null;
  return h("section", { class: "doubts", "aria-label": words.doubts },
    h("h2", {}, words.doubts),
    h("ul", {}, texts.map((text) => h("li", {}, text))));
}
