// The editor: pointing, dragging and keys become changes of the document; it knows nothing of the server.

import { say } from "/static/dom.js";
import { edgeWords, filled, words } from "/static/words.js";
import { ofPaper, stepOf } from "/static/lengths.js";
import { nearest } from "/static/editor/curve.js";
import { Drawing, runsOf } from "/static/editor/draw.js";
import { History } from "/static/editor/history.js";
import { addDart, addMark, addNode, moveThing, nameEdge, removeThing, setCorner, setFold, setStraight } from "/static/editor/model.js";
import { thingsOf } from "/static/editor/things.js";

const TAP_PX = 5, GRAB_PX = 17, SNAP_MM = 6, FINE = 0.1, FAR = 10;
const t = words.piece;
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
const WAYS = { ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down" };
const ENOUGH = { dart: 3, grain: 2, centre: 2 };

/**
 * @param options.toPx, toMm  mat mm to the picture's pixels and back
 * @param options.snap  async (point) => point on the paper's edge in the picture, or null
 * @param options.changed  (doc) called after each finished change
 * @param options.named  async (doc) => the edges as they would be called, with a document that is not kept yet
 * @param options.shown  () called when the choice or the tool changes
 */
export class Editor {
  constructor({ table, doc, edges, seam, toPx, toMm, unit, snap, changed, shown, named = null }) {
    this.table = table;
    this.edges = edges;
    this.seam = seam;
    this.toPx = toPx;
    this.toMm = toMm;
    this.unit = unit;
    this.snapTo = snap;
    this.changed = changed;
    this.shown = shown;
    this.named = named;
    this.following = null; // {name, doc, others}: a name that others must follow, which she is asked about
    this.history = new History(doc);
    this.live = null;
    this.tool = "pick";
    this.chosen = null;
    this.chosenRun = null;
    this.points = [];
    this.snapping = true;
    this.editing = false;
    this.stale = false;
    this.drawing = new Drawing(table, toPx);
    this.down = (event) => this.#down(event);
    this.key = (event) => this.#key(event);
    table.view.addEventListener("pointerdown", this.down, { capture: true });
    table.view.addEventListener("keydown", this.key, { capture: true });
    this.paint();
  }

  leave() {
    this.drawing.leave();
    this.table.view.removeEventListener("pointerdown", this.down, { capture: true });
    this.table.view.removeEventListener("keydown", this.key, { capture: true });
  }

  get doc() { return this.live ?? this.history.doc; }
  get things() { return thingsOf(this.doc, this.chosen, this.edgeOf, this.edges); }
  get thing() { return this.things.find((one) => one.key === this.chosen) ?? null; }

  paint() {
    this.runs = runsOf(this.doc.nodes, this.edges);
    this.edgeOf = [];
    for (const run of this.runs) for (let k = run.from; k < run.to; k += 1) this.edgeOf[k % this.doc.nodes.length] = run.name;
    this.drawing.paint(this.doc, {
      things: this.things, chosen: this.chosen, chosenRun: this.chosenRun, runs: this.runs, seam: this.seam, stale: this.stale,
      editing: this.editing, aim: this.editing && this.tool !== "pick",
    });
    this.table.view.dataset.tool = this.editing ? this.tool : "look";
  }

  edit(on) {
    this.editing = on;
    if (!on) Object.assign(this, { chosen: null, chosenRun: null, tool: "pick", points: [] });
    this.table.view.setAttribute("role", on ? "application" : "group");
    this.#show();
  }

  /** The server's newest reading of edges and seam line; the document stays hers. */
  update({ edges, seam }) {
    Object.assign(this, { edges, seam, stale: false });
    if (!this.live) this.#show();
  }

  use(tool) {
    Object.assign(this, { tool, points: [], chosenRun: null, following: null });
    if (tool !== "pick") this.chosen = null;
    this.#show();
  }

  choose(key, { reveal = true, aloud = true } = {}) {
    this.chosen = key;
    this.chosenRun = null;
    const thing = this.thing;
    if (thing && reveal) this.table.reveal(this.toPx(thing.at));
    if (thing && aloud) say(thing.label);
    this.#show();
  }

  chooseRun(n) {
    this.chosenRun = n;
    this.following = null;
    if (n !== null) say(filled(t.things.edge, { edge: edgeWords(this.runs[n]?.name) }));
    this.#show();
  }

  #show() { this.paint(); this.shown(); }

  put(doc, words_, key) {
    this.live = null;
    if (doc === this.history.doc) return this.#show();
    this.history.put(doc);
    this.stale = true;
    if (key !== undefined) this.chosen = key;
    if (words_) say(words_);
    this.#show();
    this.changed(this.history.doc);
  }

  /** A change that can't be: back to what is kept; it can't be done again either. */
  refuse(doc) {
    this.live = null;
    this.history.drop(doc);
    if (!this.thing) this.chosen = null;
    this.stale = false;
    this.#show();
  }

  undo() {
    if (!this.history.undo()) return say(t.said.nothing);
    this.#back(filled(t.said.undone, { n: this.history.undos }));
  }
  redo() {
    if (this.history.redo()) this.#back(t.said.redone);
  }
  #back(text) {
    if (!this.thing) this.chosen = null;
    this.stale = true;
    say(text);
    this.#show();
    this.changed(this.history.doc);
  }

  remove() {
    const thing = this.thing;
    if (!thing) return;
    this.put(removeThing(this.history.doc, thing), filled(t.said.removed, { thing: thing.label }), null);
  }
  corner(on) { if (this.thing?.kind === "node") this.put(setCorner(this.history.doc, this.thing.n, on)); }
  straight(on) { if (this.thing?.kind === "node") this.put(setStraight(this.history.doc, this.thing.n, on)); }
  /** Name the edge that is chosen; where others would be called otherwise for it, she is asked first. */
  async nameRun(name) {
    const run = this.runs[this.chosenRun];
    if (!run || run.name === name) return;
    const doc = nameEdge(this.history.doc, this.#onRun(run), name, run.name);
    const edges = name && this.named ? await this.named(doc) : null;
    const others = edges ? this.#others(edges, run) : [];
    if (others.length) {
      this.following = { name, doc, others };
      return void this.#show();
    }
    this.#named(doc, name);
  }
  follow(yes) {
    const asked = this.following;
    this.following = null;
    if (yes && asked) this.#named(asked.doc, asked.name);
    else this.#show();
  }
  #named(doc, name) {
    this.following = null;
    this.put(doc, name ? filled(t.said.named, { edge: edgeWords(name) }) : undefined);
    this.chosenRun = null;
    this.#show();
  }
  /** Edges beside this one that would be called otherwise: [{was, now}]. */
  #others(edges, own) {
    const after = runsOf(this.doc.nodes, edges), count = this.doc.nodes.length, called = [];
    for (const run of after) for (let k = run.from; k < run.to; k += 1) called[k % count] = run.name;
    return this.runs.filter((run) => run !== own).flatMap((run) => {
      const now = called[Math.floor((run.from + run.to - 1) / 2) % count];
      return now === run.name ? [] : [{ was: run.name, now }];
    });
  }
  foldRun(on) {
    const run = this.runs[this.chosenRun];
    this.put(setFold(this.history.doc, on ? run?.name ?? "none" : "none"));
  }
  foldGuess() { this.put(setFold(this.history.doc, null)); }
  #onRun(run) {
    const count = this.history.doc.nodes.length, k = Math.floor((run.from + run.to - 1) / 2) % count;
    const next = this.history.doc.nodes[(k + 1) % count], node = this.history.doc.nodes[k];
    return nearest(this.history.doc.nodes, [(node.x + next.x) / 2, (node.y + next.y) / 2]).point;
  }

  /** Move what is chosen by a step in a screen direction. */
  nudge(arrow, times = 1) {
    const thing = this.thing;
    if (!thing) return;
    const step = stepOf(this.unit) * 0.5 * times, [dx, dy] = ARROWS[arrow], a = this.table.angle;
    // the picture may lie turned on the screen: up means up there
    const by = [dx * Math.cos(a) - dy * Math.sin(a), dx * Math.sin(a) + dy * Math.cos(a)];
    const to = [thing.at[0] + by[0] * step, thing.at[1] + by[1] * step];
    this.put(moveThing(this.history.doc, thing, to), filled(t.said.moved, { thing: thing.label, far: ofPaper(step, this.unit), way: t.nudge[WAYS[arrow]].toLowerCase() }), thing.key);
  }

  step(by) {
    const things = this.things;
    if (!things.length) return;
    const now = things.findIndex((one) => one.key === this.chosen);
    this.choose(things[(now + by + things.length + (now < 0 && by < 0 ? 1 : 0)) % things.length].key);
  }

  // ---- pointing

  #down(event) {
    if (!this.editing || event.button > 1) return;
    const thing = event.target.closest?.("[data-key]") ? this.#nearestThing(this.table.at(event)) : null, key = thing?.key;
    if (thing && this.tool === "pick" && event.button === 0) {
      if (this.chosen !== key) this.choose(key, { reveal: false });
      this.#dragging(thing, event);
      return;
    }
    const start = this.table.at(event), run = event.target.closest?.("[data-run]")?.dataset.run;
    let last = start, moved = false;
    this.table.take({
      move: (_, now) => {
        if (!moved && Math.hypot(now[0] - start[0], now[1] - start[1]) < TAP_PX) return;
        moved = true;
        this.table.pan(now[0] - last[0], now[1] - last[1]);
        last = now;
      },
      drop: (_, now) => { if (!moved) this.#tap(this.toMm(this.table.toContent(now)), run === undefined ? null : Number(run)); },
    });
  }

  /** Where several lie on top of one another: the one that is chosen already, or the nearest. */
  #nearestThing(at) {
    let best = null, least = Infinity;
    for (const thing of this.things) {
      const [x, y] = this.table.toScreen(this.toPx(thing.at)), far = Math.hypot(x - at[0], y - at[1]) - (thing.key === this.chosen ? GRAB_PX : 0);
      if (far < least) { least = far; best = thing; }
    }
    return least < GRAB_PX + 1 ? best : null;
  }

  #dragging(thing, event) {
    const start = this.table.at(event), from = this.table.toScreen(this.toPx(thing.at)), base = this.history.doc;
    const off = [from[0] - start[0], from[1] - start[1]];
    let moved = false, place = null, snapped = null, frame = 0, asking = false;
    const wants = this.snapping && this.snapTo && thing.kind === "node";
    const ask = async () => {
      if (asking || !wants) return;
      asking = true;
      const asked = place;
      try {
        const found = await this.snapTo(asked);
        snapped = found && Math.hypot(found[0] - asked[0], found[1] - asked[1]) < SNAP_MM ? found : null;
        if (this.live) this.drawing.ghost(snapped);
      } catch { snapped = null; }
      asking = false;
    };
    this.table.take({
      move: (_, now) => {
        if (!moved && Math.hypot(now[0] - start[0], now[1] - start[1]) < TAP_PX) return;
        moved = true;
        place = this.toMm(this.table.toContent([now[0] + off[0], now[1] + off[1]]));
        if (frame) return;
        frame = requestAnimationFrame(() => {
          frame = 0;
          this.live = moveThing(base, thing, place);
          this.drawing.drag(this.live, this.things);
          ask();
        });
      },
      drop: async () => {
        cancelAnimationFrame(frame);
        if (!moved) return;
        let end = place;
        if (wants) {
          try {
            const found = await this.snapTo(place);
            if (found && Math.hypot(found[0] - place[0], found[1] - place[1]) < SNAP_MM) end = found;
          } catch { /* stays where it was put */ }
        }
        this.drawing.ghost(null);
        this.put(moveThing(base, thing, end), undefined, thing.key);
      },
      cancel: () => { cancelAnimationFrame(frame); this.live = null; this.drawing.ghost(null); this.#show(); },
    });
  }

  #tap(point, run) {
    const doc = this.history.doc, tool = this.tool;
    if (tool === "pick") return this.choose(null, { aloud: false });
    if (tool === "name" || tool === "fold") {
      const near = run ?? this.#runNear(point);
      return near === null ? undefined : this.chooseRun(near);
    }
    if (tool === "point") {
      const spot = nearest(doc.nodes, point);
      const made = addNode(doc, spot);
      return this.put(made, filled(t.said.added, { thing: t.tools.point }), `node-${spot.k + 1}`);
    }
    if (tool === "notch" || tool === "hole") {
      const made = addMark(doc, tool, point), list = tool === "notch" ? made.notches : made.holes;
      return this.put(made, filled(t.said.added, { thing: t.tools[tool] }), `${tool}-${list.length - 1}`);
    }
    this.points = [...this.points, point];
    if (this.points.length < ENOUGH[tool]) return this.#show();
    const [a, b, c] = this.points;
    this.points = [];
    if (tool === "dart") return this.put(addDart(doc, [a, c], [b]), filled(t.said.added, { thing: t.tools.dart }), `apex-${doc.darts.length}-0`);
    // the grain is kept from its lower to its upper end, as the piece stands on the screen
    const low = (p) => this.table.toScreen(this.toPx(p))[1];
    const line = tool === "grain" && low(a) < low(b) ? [b, a] : [a, b];
    return this.put({ ...doc, [tool]: line }, filled(t.said.added, { thing: t.tools[tool] }), `${tool}-0-0`);
  }

  #runNear(point) {
    const { k } = nearest(this.history.doc.nodes, point), count = this.history.doc.nodes.length;
    const found = this.runs.findIndex((run) => { for (let i = run.from; i < run.to; i += 1) if (i % count === k) return true; return false; });
    return found < 0 ? null : found;
  }

  // ---- keys

  #key(event) {
    if (!this.editing) return;
    const command = event.ctrlKey || event.metaKey, key = event.key;
    const done = () => { event.preventDefault(); event.stopPropagation(); };
    if (command && key.toLowerCase() === "z") { done(); return event.shiftKey ? this.redo() : this.undo(); }
    if (command && key.toLowerCase() === "y") { done(); return this.redo(); }
    if (command) return undefined;
    if (ARROWS[key] && this.thing) { done(); return this.nudge(key, event.shiftKey ? FAR : event.altKey ? FINE * 2 : 1); }
    if (key === "PageDown" || key === "PageUp") { done(); return this.step(key === "PageDown" ? 1 : -1); }
    if (key === "Home" || key === "End") { done(); const things = this.things; return this.choose(things.at(key === "Home" ? 0 : -1)?.key ?? null); }
    if ((key === "Delete" || key === "Backspace") && this.thing) { done(); return this.remove(); }
    if (key === "Escape" && this.chosenRun !== null) { done(); this.following = null; return this.chooseRun(null); }
    if (key === "Escape") { done(); return this.points.length ? this.use(this.tool) : this.tool !== "pick" ? this.use("pick") : this.choose(null, { aloud: false }); }
    if (key === "Enter" && this.tool !== "pick") {
      done();
      const { width, height } = this.table.size;
      return this.#tap(this.toMm(this.table.toContent([width / 2, height / 2])), null);
    }
    const tool = Object.entries(t.keys_of).find(([, letter]) => letter.toLowerCase() === key.toLowerCase())?.[0];
    if (tool && !event.altKey) { done(); this.use(tool); say(`${t.tools[tool]}. ${t.tips[tool]}`); }
    return undefined;
  }
}
