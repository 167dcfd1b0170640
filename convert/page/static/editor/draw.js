// Drawing what lies on the paper over its picture. Lines live in the picture's pixels, marks in the screen's.

import { h, s, put } from "/static/dom.js";
import { at, dist, lineOf, nearest, onCubic, pathOf, stretch, tangent } from "/static/editor/curve.js";
import { edgeWords } from "/static/words.js";

const SIGNS = {
  node: (corner) => (corner ? s("rect", { x: -5, y: -5, width: 10, height: 10, class: "dot" }) : s("circle", { r: 5, class: "dot" })),
  in: () => s("circle", { r: 4.5, class: "dot handle" }),
  out: () => s("circle", { r: 4.5, class: "dot handle" }),
  notch: () => s("path", { d: "M-7 0 L7 0 L0 13 Z", class: "dot notch" }),
  hole: () => [s("circle", { r: 8, class: "dot ring" }), s("circle", { r: 2, class: "core" })],
  leg: () => s("path", { d: "M0 -7 L6 0 L0 7 L-6 0 Z", class: "dot" }),
  apex: () => [s("circle", { r: 7, class: "dot ring" }), s("path", { d: "M-10 0 H10 M0 -10 V10", class: "cross" })],
  grain: () => s("circle", { r: 6, class: "dot dark" }),
  centre: () => s("circle", { r: 6, class: "dot dark" }),
};

export class Drawing {
  constructor(table, toPx) {
    this.table = table;
    this.toPx = toPx;
    this.lines = {
      casing: s("path", { class: "casing" }), cut: s("path", { class: "cut" }), seamCasing: s("path", { class: "casing thin" }), seam: s("path", { class: "seam" }),
      darts: s("path", { class: "dart" }), fold: s("path", { class: "fold" }), grain: s("path", { class: "grain" }), centre: s("path", { class: "centre" }),
      handles: s("path", { class: "arms" }), ghost: s("path", { class: "ghost" }), hits: s("g", { class: "hits" }),
    };
    const l = this.lines;
    table.setLines(l.seamCasing, l.seam, l.casing, l.cut, l.fold, l.darts, l.grain, l.centre, l.handles, l.ghost, l.hits);
    this.things = s("g", { class: "things" });
    this.names = s("g", { class: "edge-names", "aria-hidden": "true" });
    this.aim = s("path", { class: "aim", d: "M-14 0 H14 M0 -14 V14" });
    put(table.marks, this.names, this.things, this.aim);
    this.held = new Map();
    this.off = table.onCamera(() => this.place());
  }

  leave() { this.off(); }

  /** Everything: after a change of structure, choice or tool. */
  paint(doc, view) {
    this.doc = doc;
    this.view = view;
    this.#lines(doc, view);
    this.#hits(doc, view);
    put(this.things, view.things.filter((thing) => view.editing || !["node", "grain", "centre"].includes(thing.kind)).map((thing) => this.#thing(thing, view)));
    this.#edgeNames(doc, view);
    this.aim.toggleAttribute("hidden", !view.aim);
    this.place();
  }

  /** Only what moves while something is dragged. */
  drag(doc, things) {
    this.doc = doc;
    this.#lines(doc, this.view);
    for (const thing of things) {
      const held = this.held.get(thing.key);
      if (held) held.thing = thing;
    }
    this.place(false);
  }

  place(all = true) {
    if (!this.doc) return;
    const { toScreen, size } = this.table;
    for (const { group, thing } of this.held.values()) {
      const [x, y] = toScreen(this.toPx(thing.at));
      group.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})${thing.kind === "notch" ? ` rotate(${this.#inward(thing.at)})` : ""}`);
    }
    if (!all) return;
    if (this.doc.grain) this.lines.grain.setAttribute("d", arrowed(this.doc.grain.map(this.toPx), this.table.camera.scale));
    this.aim.setAttribute("transform", `translate(${size.width / 2} ${size.height / 2})`);
    for (const { element, point, normal } of this.labels ?? []) {
      const [x, y] = toScreen(this.toPx(point)), [u, v] = toScreen(this.toPx([point[0] + normal[0], point[1] + normal[1]]));
      const long = Math.hypot(u - x, v - y) || 1, away = 16, side = (u - x) / long;
      const wide = element.textContent.length * 9, anchor = side > 0.4 ? "start" : side < -0.4 ? "end" : "middle";
      const before = anchor === "start" ? 0 : anchor === "end" ? wide : wide / 2, inside = x > 0 && x < size.width && y > 0 && y < size.height;
      const spot = x + side * away, kept = Math.max(before + 6, Math.min(size.width - (wide - before) - 6, spot));
      element.setAttribute("x", (inside ? kept : spot).toFixed(1));
      element.setAttribute("y", (y + ((v - y) / long) * away + 5).toFixed(1));
      element.setAttribute("text-anchor", anchor);
    }
  }

  #lines(doc, view) {
    const { toPx, lines } = this;
    const cut = pathOf(doc.nodes, toPx);
    lines.casing.setAttribute("d", cut);
    lines.cut.setAttribute("d", cut);
    lines.darts.setAttribute("d", doc.darts.map((dart) => (dart.apexes.length > 1
      ? lineOf([dart.legs[0], dart.apexes[0], dart.legs[1], dart.apexes[1], dart.legs[0]], toPx)
      : lineOf([dart.legs[0], dart.apexes[0], dart.legs[1]], toPx))).join(""));
    lines.grain.setAttribute("d", doc.grain ? arrowed(doc.grain.map(toPx), this.table.camera.scale) : "");
    lines.centre.setAttribute("d", doc.centre ? lineOf(doc.centre, toPx) : "");
    const chosen = view.things.find((thing) => thing.key === view.chosen);
    const node = chosen && ["node", "in", "out"].includes(chosen.kind) ? doc.nodes[chosen.n] : null;
    lines.handles.setAttribute("d", node && view.editing ? ["in", "out"].filter((which) => node[which]).map((which) => lineOf([at(node), node[which]], toPx)).join("") : "");
  }

  #hits(doc, view) {
    const { toPx, lines } = this;
    const seam = view.seam?.length ? `${lineOf(view.seam, toPx)}Z` : "";
    lines.seam.setAttribute("d", seam);
    lines.seamCasing.setAttribute("d", seam);
    lines.seam.classList.toggle("stale", Boolean(view.stale));
    const folded = view.runs.find((run) => run.name && run.name === doc.fold);
    lines.fold.setAttribute("d", folded ? pathOf(doc.nodes, toPx, folded.from, folded.to) : "");
    put(lines.hits, view.runs.map((run, n) => s("path", {
      d: pathOf(doc.nodes, toPx, run.from, run.to), "data-run": n, class: `hit${view.chosenRun === n ? " chosen" : ""}`,
    })));
  }

  ghost(point) { this.lines.ghost.setAttribute("d", point ? circle(this.toPx(point), 7 / this.table.camera.scale) : ""); }

  #thing(thing, view) {
    const chosen = thing.key === view.chosen;
    const group = s("g", { class: `thing is-${thing.kind}${chosen ? " chosen" : ""}${thing.faint ? " faint" : ""}`, "data-key": view.editing ? thing.key : null },
      view.editing ? s("circle", { r: 17, class: "grab" }) : null, chosen ? s("circle", { r: 15, class: "halo" }) : null, SIGNS[thing.kind](thing.corner));
    this.held.set(thing.key, { group, thing });
    for (const key of this.held.keys()) if (!view.things.some((one) => one.key === key)) this.held.delete(key);
    return group;
  }

  #inward(point) {
    const spot = nearest(this.doc.nodes, point), [dx, dy] = tangent(this.doc.nodes, spot.k, spot.t);
    const a = this.table.toScreen(this.toPx(point)), b = this.table.toScreen(this.toPx([point[0] - dy, point[1] + dx]));
    return ((Math.atan2(b[1] - a[1], b[0] - a[0]) * 180) / Math.PI - 90).toFixed(1);
  }

  #edgeNames(doc, view) {
    this.labels = view.runs.map((run) => {
      const middle = middleOf(doc.nodes, run), [dx, dy] = tangent(doc.nodes, middle.k, middle.t);
      return { element: s("text", { class: `edge-name${run.name ? "" : " unnamed"}` }, edgeWords(run.name)), point: middle.point, normal: [dy, -dx] };
    });
    put(this.names, this.labels.map((one) => one.element));
  }
}

/** Half way along a run of stretches. */
export function middleOf(nodes, run) {
  const lengths = [];
  for (let k = run.from; k < run.to; k += 1) {
    const curve = stretch(nodes, k % nodes.length);
    lengths.push(dist(curve[0], curve[3]));
  }
  let half = lengths.reduce((a, b) => a + b, 0) / 2;
  for (const [i, long] of lengths.entries()) {
    if (half <= long || i === lengths.length - 1) {
      const k = (run.from + i) % nodes.length, t = long ? Math.min(1, half / long) : 0;
      return { k, t, point: onCubic(stretch(nodes, k), t) };
    }
    half -= long;
  }
  return { k: run.from % nodes.length, t: 0, point: at(nodes[run.from % nodes.length]) };
}

const circle = ([x, y], r) => `M${x - r} ${y}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0`;

function arrowed([a, b], scale) {
  const long = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1, head = 11 / scale;
  const u = [((b[0] - a[0]) / long) * head, ((b[1] - a[1]) / long) * head];
  const tip = (p, way) => `M${p[0] - way * u[0] - u[1] * 0.5} ${p[1] - way * u[1] + u[0] * 0.5}L${p[0]} ${p[1]}L${p[0] - way * u[0] + u[1] * 0.5} ${p[1] - way * u[1] - u[0] * 0.5}`;
  return `M${a[0]} ${a[1]}L${b[0]} ${b[1]}${tip(b, 1)}${tip(a, -1)}`;
}

/** Runs of stretches with the same name, from the server's edges: [{name, from, to}] over the ring of nodes. */
export function runsOf(nodes, edges) {
  if (!nodes.length) return [];
  const named = nodes.map((_, k) => nameAt(edges, onCubic(stretch(nodes, k), 0.5)));
  const start = named.findIndex((name, k) => name !== named[(k + named.length - 1) % named.length]);
  if (start < 0) return [{ name: named[0], from: 0, to: nodes.length }];
  const runs = [];
  for (let n = 0; n < nodes.length; n += 1) {
    const k = (start + n) % nodes.length, last = runs.at(-1);
    if (last && last.name === named[k]) last.to += 1;
    else runs.push({ name: named[k], from: start + n, to: start + n + 1 });
  }
  return runs;
}

function nameAt(edges, point) {
  let best = null, far = Infinity;
  for (const edge of edges) {
    for (const p of edge.cut_points ?? edge.points) {
      const d = (p[0] - point[0]) ** 2 + (p[1] - point[1]) ** 2;
      if (d < far) { far = d; best = edge.name; }
    }
  }
  return best;
}

export const crossSign = () => h("span", { class: "aim-sign", "aria-hidden": "true" }, "+");
