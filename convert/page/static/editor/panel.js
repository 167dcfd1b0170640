// The tools beside the picture, and what can be done with the thing that is chosen.

import { h, s, put } from "/static/dom.js";
import { capital, edgeWords, filled, words } from "/static/words.js";
import { isStraight } from "/static/editor/curve.js";

const t = words.piece;
const SIGNS = {
  pick: "M5 3 L18 12 L12 13 L15 20 L12 21 L9.5 14 L5 18 Z", point: "M3 17 C8 5 16 5 21 17 M12 4 v8 M8 8 h8", notch: "M3 17 H8 L12 8 L16 17 H21", hole: "M12 5 a7 7 0 1 0 0.1 0 M12 11 v2",
  dart: "M6 20 L12 4 L18 20", name: "M3 18 C9 6 15 6 21 18 M8 21 H16", grain: "M12 3 V21 M8.5 7 L12 3 L15.5 7 M8.5 17 L12 21 L15.5 17", centre: "M12 3 v5 M12 10 v1 M12 13 v5 M12 20 v1", fold: "M7 4 H16 V20 H7 M11 4 L7 4 M7 20 L11 20",
};
const ARROW = { up: "M12 19 V5 M6 11 L12 5 L18 11", down: "M12 5 V19 M6 13 L12 19 L18 13", left: "M19 12 H5 M11 6 L5 12 L11 18", right: "M5 12 H19 M13 6 L19 12 L13 18" };
const sign = (d) => s("svg", { viewBox: "0 0 24 24", class: "sign", "aria-hidden": "true" }, s("path", { d }));

export function panel(editor, { names, told = () => null }) {
  const tools = h("div", { class: "tools", role: "toolbar", "aria-label": t.tools_label });
  const tip = h("p", { class: "tip", role: "status" });
  const chosen = h("div", { class: "chosen" });
  const list = h("ul", { class: "thing-list" });
  const all = h("details", { class: "all-things", ontoggle: () => drawList() }, h("summary", {}, t.list), list);
  const keys = h("details", {}, h("summary", {}, t.help), h("dl", { class: "keys" }, t.help_list.map(([key, what]) => h("div", {}, h("dt", {}, key), h("dd", {}, what)))));
  const undo = h("button", { class: "small", onclick: () => editor.undo() }, t.undo);
  const redo = h("button", { class: "small", onclick: () => editor.redo() }, t.redo);
  const snap = h("input", { type: "checkbox", checked: true, onchange: (event) => { editor.snapping = event.target.checked; } });
  const kept = h("span", { class: "quiet small kept", role: "status" });
  const wrong = h("div", { class: "field-trouble", role: "alert" }), mine = h("div");
  const element = h("div", { class: "panel" }, h("div", { class: "row undo-row" }, undo, redo, kept), wrong, tools, tip, chosen, mine,
    h("label", { class: "tick" }, snap, t.snap), all, keys);

  put(tools, Object.keys(t.tools).map((tool) => h("button", {
    class: "tool", "data-tool": tool, title: `${t.tools[tool]} (${t.keys_of[tool]})`, "aria-keyshortcuts": t.keys_of[tool],
    onclick: () => { editor.use(tool); if (tool !== "pick") editor.table.view.focus({ preventScroll: true }); },
  }, sign(SIGNS[tool]), h("span", {}, t.tools[tool]))));

  function draw() {
    for (const button of tools.children) button.setAttribute("aria-pressed", String(button.dataset.tool === editor.tool));
    tip.textContent = editor.points.length ? (editor.tool === "dart" ? t.tips.dart_more[editor.points.length] : t.tips.line_more) : t.tips[editor.tool];
    undo.setAttribute("aria-disabled", String(!editor.history.undos));
    redo.setAttribute("aria-disabled", String(!editor.history.redos));
    put(chosen, editor.tool === "name" ? naming() : editor.tool === "fold" ? folding() : thing());
    put(mine, told());
    drawMenu();
    if (all.open) drawList();
  }

  function thing() {
    const one = editor.thing;
    if (!one) return null;
    const node = one.kind === "node" ? editor.doc.nodes[one.n] : null;
    const straight = node && isStraight(editor.doc.nodes, one.n);
    return h("section", { class: "card chosen-thing" },
      h("h2", {}, one.label),
      h("div", { class: "nudge", role: "group", "aria-label": t.nudge_label },
        ["left", "up", "down", "right"].map((way) => h("button", { class: `small ${way}`, "aria-label": t.nudge[way], title: t.nudge[way], onclick: () => editor.nudge(`Arrow${capital(way)}`) }, sign(ARROW[way])))),
      h("div", { class: "row" },
        node ? h("button", { class: "small", onclick: () => editor.corner(!node.corner) }, node.corner ? t.smooth : t.sharp) : null,
        node ? h("button", { class: "small", onclick: () => editor.straight(!straight) }, straight ? t.curve : t.straight) : null,
        h("button", { class: "small", onclick: () => editor.remove() }, t.remove)));
  }

  const naming = () => runButtons();

  // the answers stand beside the edge that they are about
  const menu = h("section", { class: "edge-menu card", hidden: true, tabindex: "-1" });
  editor.table.element.append(menu);
  let menuOf = null;
  function drawMenu() {
    const run = editor.tool === "name" && editor.editing ? editor.runs[editor.chosenRun] : null, asked = editor.following;
    menu.hidden = !run;
    if (!run) { menuOf = null; return; }
    put(menu, asked ? [
      h("h2", {}, filled(t.follows, { name: edgeWords(asked.name) })), h("ul", {}, asked.others.map((one) => h("li", {}, filled(t.follows_one, { was: edgeWords(one.was), now: edgeWords(one.now) })))),
      h("div", { class: "row" }, h("button", { class: "small main", onclick: () => editor.follow(true) }, t.follow_yes), h("button", { class: "small", onclick: () => editor.follow(false) }, t.follow_no)),
    ] : [
      h("h2", {}, t.which_edge),
      h("div", { class: "row" }, names.map((name) => h("button", { class: "small", "aria-pressed": String(run.name === name), onclick: () => editor.nameRun(name).catch((err) => complain(err)) }, edgeWords(name))),
        h("button", { class: "small plain", onclick: () => editor.nameRun(null) }, t.no_name), h("button", { class: "small plain", onclick: () => editor.chooseRun(null) }, t.close)),
    ]);
    besideRun(run);
    if (menuOf !== `${editor.chosenRun}${Boolean(asked)}`) { menuOf = `${editor.chosenRun}${Boolean(asked)}`; menu.focus({ preventScroll: true }); }
  }
  /** Where it covers least of the edge that it is about. */
  function besideRun(run) {
    const { width, height } = editor.table.size, wide = menu.offsetWidth, tall = menu.offsetHeight, gap = 14, count = editor.doc.nodes.length;
    const points = Array.from({ length: run.to - run.from + 1 }, (_, i) => editor.doc.nodes[(run.from + i) % count]).map((node) => editor.table.toScreen(editor.toPx([node.x, node.y])));
    const xs = points.map((p) => p[0]), ys = points.map((p) => p[1]), low = [Math.min(...xs), Math.min(...ys)], high = [Math.max(...xs), Math.max(...ys)];
    const fit = (x, y) => [Math.max(4, Math.min(width - wide - 4, x)), Math.max(4, Math.min(height - tall - 4, y))];
    const middle = [(low[0] + high[0]) / 2, (low[1] + high[1]) / 2];
    const places = [fit(high[0] + gap, middle[1] - tall / 2), fit(low[0] - gap - wide, middle[1] - tall / 2), fit(middle[0] - wide / 2, high[1] + gap), fit(middle[0] - wide / 2, low[1] - gap - tall)];
    /** @type {(place: number[]) => number} */
    const covered = ([x, y]) => Math.max(0, Math.min(x + wide, high[0]) - Math.max(x, low[0])) * Math.max(0, Math.min(y + tall, high[1]) - Math.max(y, low[1]));
    const [x, y] = places.reduce((best, one) => (covered(one) < covered(best) ? one : best));
    menu.style.left = `${x}px`;
    menu.style.top = `${y}px`;
  }
  menu.addEventListener("keydown", (event) => { if (event.key === "Escape") { event.stopPropagation(); editor.chooseRun(null); editor.table.view.focus({ preventScroll: true }); } });

  function folding() {
    const run = editor.runs[editor.chosenRun];
    return [runButtons(), h("div", { class: "row" },
      run ? h("button", { class: "small", onclick: () => editor.foldRun(true) }, `${capital(edgeWords(run.name))}: ${t.fold_yes.toLowerCase()}`) : null,
      h("button", { class: "small", onclick: () => editor.foldRun(false) }, t.fold_none), h("button", { class: "small plain", onclick: () => editor.foldGuess() }, t.fold_guess))];
  }

  /** The edges as buttons too, for those who do not point. */
  function runButtons() {
    return h("div", { class: "row runs" }, editor.runs.map((run, n) => h("button", { class: "small", "aria-pressed": String(editor.chosenRun === n), onclick: () => editor.chooseRun(n) },
      edgeWords(run.name), editor.doc.fold && editor.doc.fold === run.name ? h("span", { class: "quiet" }, ` (${t.tools.fold.toLowerCase()})`) : null)));
  }

  function complain({ problem, remedy }) {
    put(wrong, h("p", { class: "trouble-problem" }, problem), h("p", {}, remedy));
    wrong.scrollIntoView({ block: "nearest" });
  }

  function drawList() {
    put(list, editor.things.map((one) => h("li", {}, h("button", {
      class: "small plain", "aria-pressed": String(one.key === editor.chosen), onclick: () => { if (editor.tool !== "pick") editor.use("pick"); editor.choose(one.key); },
    }, one.label))));
  }

  return {
    element, draw,
    say: (text) => { kept.textContent = text; if (text) put(wrong); },
    trouble: complain,
  };
}
