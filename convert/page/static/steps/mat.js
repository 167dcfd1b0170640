// Step 2: the lattice over the photograph; the pitch chosen by picture; crossings put right by hand.

import { h, put, s, say, swap } from "/static/dom.js";
import { answers } from "/static/parts/answers.js";
import { doubts } from "/static/parts/trouble.js";
import { filled, kindWords, plural, words } from "/static/words.js";
import { lineOf } from "/static/editor/curve.js";
import { makeTable } from "/static/parts/table.js";
import { special } from "/static/parts/special.js";
import { notRead } from "/static/parts/unread.js";
import { ofPaper, withUnit } from "/static/lengths.js";

const t = words.mat;
const CARD = [85.6, 54]; // a bank card, ISO/IEC 7810 ID-1, mm
const PITCH = { "1cm": 10, "1in": 25.4, "1/2in": 12.7, "5mm": 5, "2cm": 20 };
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

export async function build(ctx) {
  const { job, piece } = ctx;
  if (!job.state.grid && !piece.scan) return { element: pitchQuestion(ctx) };
  const waiting = await notRead(ctx);
  if (waiting) {
    if (!piece.scan) waiting.element.append(changePitch(ctx));
    if (!job.work.has(piece.id) && !piece.problem && piece.state === "waiting") job.read(piece.id).catch(ctx.fail);
    return waiting;
  }
  const answer = await job.get(`/pieces/${piece.id}/mat`);
  const views = answer.pictures ?? (Array.isArray(answer) ? answer : [answer]);
  if (piece.scan || !views.length || !views[0].lines) {
    const element = scanned(ctx, views);
    element.querySelector(".ask").append((await special(ctx)).element);
    return { element };
  }
  return lattice(ctx, views, answer);
}

/** How far apart? Each choice is drawn with the same bank card on it. */
function tiles(choose, current) {
  const shown = Array.isArray(current) ? Object.entries(t.grids).filter(([grid]) => current.includes(grid)) : Object.entries(t.grids);
  return h("ul", { class: "tiles pitches" }, shown.map(([grid, { name, like }]) => h("li", {},
    h("button", { class: "tile", "aria-pressed": typeof current !== "number" ? null : String(PITCH[grid] === current), onclick: () => choose(grid) }, matDrawing(PITCH[grid]), name, h("small", {}, like)))));
}

function matDrawing(pitch) {
  const wide = 110, tall = 76, lines = [];
  for (let x = 8; x < wide; x += pitch) lines.push(`M${x} 0V${tall}`);
  for (let y = 10; y < tall; y += pitch) lines.push(`M0 ${y}H${wide}`);
  return s("svg", { viewBox: `0 0 ${wide} ${tall}`, class: "mat-drawing", "aria-hidden": "true" },
    s("rect", { width: wide, height: tall, class: "mat-ground" }), s("path", { d: lines.join(""), class: "mat-lines" }),
    s("rect", { x: 8, y: 10, width: CARD[0], height: CARD[1], rx: 3.2, class: "bank-card" }), s("rect", { x: 17, y: 25, width: 11, height: 9, rx: 1.5, class: "chip" }), s("path", { d: lines.join(""), class: "mat-lines through" }));
}

async function setGrid(ctx, grid) {
  const { job } = ctx;
  try {
    await job.change("PATCH", "", { grid });
    await job.look();
    await job.unmark(job.pieces.flatMap((one) => [`pitch/${one.id}`, `mat/${one.id}`, `piece/${one.id}`, `seams/${one.id}`]));
    for (const one of job.pieces) if (!one.scan) await job.read(one.id);
    ctx.again();
  } catch (err) { ctx.fail(err); }
}

function pitchQuestion(ctx) {
  const other = h("input", { type: "text", id: "other-pitch", autocomplete: "off", size: 10 });
  return h("section", { class: "ask" }, h("h1", {}, t.grid_question), h("p", {}, t.grid_words), tiles((grid) => setGrid(ctx, grid)),
    h("details", {}, h("summary", {}, t.grid_other), h("form", { class: "row", onsubmit: (event) => { event.preventDefault(); if (other.value.trim()) setGrid(ctx, withUnit(other.value, ctx.unit)); } },
      h("label", { for: "other-pitch" }, t.grid_other_label), other, h("button", {}, t.grid_set))));
}

function changePitch(ctx, current) {
  return h("details", { class: "change-pitch" }, h("summary", {}, t.grid_change), tiles((grid) => setGrid(ctx, grid), current));
}

function scanned(ctx, views) {
  const sheet = h("img", { class: "scan-picture", src: ctx.job.url(`/pieces/${ctx.piece.id}/sheet.jpg?width=1200`), alt: filled(words.piece.picture_alt, { kind: kindWords(ctx.piece.kind) }) });
  return h("div", { class: "work" }, h("div", { class: "ask" }, h("h1", {}, t.scan_question), h("p", {}, t.scan_words), views[0]?.sentence ? h("p", {}, views[0].sentence) : null, sheet),
    answers({ right: ctx.fine }));
}

/** A doubt that changes every length: a question with its answers as buttons, before anything else. */
function pitchDoubt(ctx, doubt, view) {
  const { job, piece } = ctx, now = Object.keys(PITCH).find((grid) => Math.abs(PITCH[grid] - view.pitch_mm) < 0.05);
  const name = (grid) => t.grids[grid].name, told = now ? name(now) : ofPaper(view.pitch_mm, ctx.unit);
  const others = Object.keys(PITCH).filter((grid) => grid !== now && grid !== doubt.likely);
  const stay = async () => { await job.mark("pitch", piece.id); ctx.again(); };
  return h("section", { class: "doubts pitch-doubt" }, h("h1", {}, doubt.likely ? filled(t.doubt_likely, { grid: name(doubt.likely) }) : filled(t.doubt_told, { grid: told })),
    h("div", { class: "answers" }, doubt.likely ? h("button", { class: "main", onclick: () => setGrid(ctx, doubt.likely) }, filled(t.doubt_yes, { grid: name(doubt.likely) })) : null,
      h("button", { onclick: stay }, filled(doubt.likely ? t.doubt_no : t.doubt_yes, { grid: told }))),
    h("ul", {}, doubt.sentences.map((one) => h("li", {}, one))),
    h("details", {}, h("summary", {}, t.grid_other), tiles((grid) => setGrid(ctx, grid), others)));
}

function lattice(ctx, views, answer) {
  const { job, piece } = ctx;
  let at = 0, fixing = false, moved = [], table = null, chosen = null;
  const ask = h("section", { class: "ask" }), after = h("div", { class: "after" }), holder = h("div", { class: "table-place" });
  let foot = h("div"), more = null;
  special(ctx).then((one) => { more = one.element; draw(); }, () => {});
  const look = h("div", { class: "look" }, ask, holder, after), element = h("div", { class: "work" }, look, foot);
  const dots = s("g", { class: "things" });

  function lay() {
    const view = views[at];
    table = makeTable({
      width: view.width, height: view.height, alt: filled(t.picture_alt, { kind: kindWords(piece.kind) }),
      src: (width) => job.url(`/pictures/${view.picture}/image?width=${Math.min(width, view.width)}${piece.rotate ? `&rotate=${piece.rotate}` : ""}`),
    });
    const all = view.lines.map((line) => lineOf(line)).join("");
    table.setLines(s("path", { d: all, class: "lattice-casing" }), s("path", { d: all, class: "lattice" }),
      view.trusted?.length ? s("path", { d: `${lineOf(view.trusted)}Z`, class: "trusted" }) : null);
    put(table.marks, dots);
    table.onCamera(place);
    table.view.addEventListener("pointerdown", down, { capture: true });
    table.view.addEventListener("keydown", key, { capture: true });
    put(holder, table.element);
    moved = [];
    chosen = null;
  }
  const points = () => views[at].crossings ?? [];
  const placeOf = (n) => moved.find((one) => one.n === n)?.px ?? points()[n].px;

  function drawDots() {
    put(dots, fixing ? points().map((_, n) => s("g", { class: `thing${n === chosen ? " chosen" : ""}`, "data-n": n },
      s("circle", { r: 17, class: "grab" }), n === chosen ? s("circle", { r: 15, class: "halo" }) : null, s("circle", { r: 6, class: "dot" }), s("path", { d: "M-11 0 H11 M0 -11 V11", class: "cross" }))) : []);
    place();
  }
  function place() {
    for (const group of dots.children) {
      const [x, y] = table.toScreen(placeOf(Number(group.dataset.n)));
      group.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
    }
  }
  function put_(n, px) {
    moved = [...moved.filter((one) => one.n !== n), { n, px }];
    place();
  }
  function choose(n) {
    chosen = n;
    table.reveal(placeOf(n));
    say(filled(t.point, { n: n + 1, of: points().length }));
    drawDots();
  }
  function down(event) {
    const group = event.target.closest?.("[data-n]");
    if (!fixing) return;
    if (!group) {
      if (chosen === null) return;
      const start = table.at(event);
      let last = start, far = false;
      table.take({ // pointing at the right place moves the chosen crossing there; dragging moves the picture
        move: (_, now) => { far ||= Math.hypot(now[0] - start[0], now[1] - start[1]) > 5; if (far) table.pan(now[0] - last[0], now[1] - last[1]); last = now; },
        drop: (_, now) => { if (!far) { put_(chosen, table.toContent(now)); draw(); } },
      });
      return;
    }
    const n = Number(group.dataset.n), from = table.toScreen(placeOf(n)), start = table.at(event);
    if (chosen !== n) choose(n);
    table.take({
      move: (_, now) => put_(n, table.toContent([from[0] + now[0] - start[0], from[1] + now[1] - start[1]])),
      drop: () => draw(),
    });
  }
  function key(event) {
    if (!fixing || event.ctrlKey || event.metaKey) return;
    const stop = () => { event.preventDefault(); event.stopPropagation(); };
    if (event.key === "PageDown" || event.key === "PageUp") {
      stop();
      const by = event.key === "PageDown" ? 1 : -1, count = points().length;
      if (count) choose(((chosen ?? (by > 0 ? -1 : 0)) + by + count) % count);
    } else if (ARROWS[event.key] && chosen !== null) {
      stop();
      const step = (event.shiftKey ? 10 : event.altKey ? 0.5 : 2) / table.camera.scale, [dx, dy] = ARROWS[event.key], [x, y] = placeOf(chosen);
      put_(chosen, [x + dx * step, y + dy * step]);
      draw();
    } else if (event.key === "Escape") { stop(); chosen = null; drawDots(); }
  }
  async function save(lattice_) {
    try {
      await job.change("PUT", `/pieces/${piece.id}/mat`, { picture: views[at].picture, lattice: lattice_ });
      await job.unmark([`mat/${piece.id}`, `piece/${piece.id}`, `seams/${piece.id}`]);
      await job.look();
      await job.read(piece.id);
      ctx.again();
    } catch (err) { ctx.fail(err); }
  }
  const told = () => views[at].told ?? [];
  const sameAt = (a, b) => a.at[0] === b.at[0] && a.at[1] === b.at[1];
  /** What was put right before and now; who moves a crossing again means the newer place. */
  function toldNow() {
    const now = moved.map(({ n, px }) => ({ px, at: points()[n].at }));
    return [...told().filter((one) => !now.some((other) => sameAt(one, other))), ...now];
  }
  /** Everything that she put right on this picture, one by one, each with its way back. */
  function taken() {
    const back = (one) => { const rest = told().filter((other) => other !== one); save(rest.length ? rest : null); };
    return told().length ? h("section", { class: "told-list" }, h("h2", {}, t.told), h("ul", { class: "found" }, told().map((one, n) => h("li", { class: "row" },
      h("button", { class: "small plain", onclick: () => table.reveal(one.px) }, filled(t.told_one, { n: n + 1 })), h("button", { class: "small", onclick: () => back(one) }, t.take_back, h("span", { class: "unseen" }, ` ${filled(t.told_one, { n: n + 1 })}`))))),
    h("button", { class: "small", onclick: () => save(null) }, words.piece.as_read)) : null;
  }

  function draw() {
    const view = views[at], pitch = ofPaper(view.pitch_mm, ctx.unit);
    const doubt = !fixing && answer.pitch_doubt && !job.seen("pitch", piece.id) ? pitchDoubt(ctx, answer.pitch_doubt, view) : null;
    put(ask, doubt ?? h("h1", {}, fixing ? t.fix_question : t.question),
      fixing ? h("p", {}, t.fix_words) : null,
      views.length > 1 ? h("div", { class: "row" }, views.map((_, n) => h("button", { class: "small", "aria-pressed": String(n === at), onclick: () => { at = n; lay(); draw(); } }, filled(t.several, { n: n + 1, of: views.length })))) : null);
    put(after, fixing ? [
      moved.length ? h("p", {}, plural(t.moved, moved.length)) : null,
      h("div", { class: "row" },
        h("button", { "aria-disabled": String(!moved.length), onclick: () => { if (moved.length) save(toldNow()); } }, t.save),
        moved.length ? h("button", { class: "plain", onclick: () => { moved = []; chosen = null; drawDots(); draw(); } }, t.undo_all) : null),
      taken(),
      changePitch(ctx, view.pitch_mm),
    ] : [
      h("ul", { class: "found" }, h("li", {}, filled(t.found, { pitch })), view.sentence ? h("li", {}, view.sentence) : null, view.known_object?.sentence ? h("li", {}, view.known_object.sentence) : null),
      doubts(view.notes), taken(), more,
    ]);
    drawDots();
    foot = swap(foot, doubt ? h("div") : answers({
      fixing, fixWords: fixing ? words.answers.done : undefined, right: ctx.fine,
      fix: () => { fixing = !fixing; chosen = null; table.view.dataset.tool = fixing ? "mat" : ""; draw(); if (fixing) table.view.focus({ preventScroll: true }); },
    }));
  }
  lay();
  draw();
  return { element };
}
