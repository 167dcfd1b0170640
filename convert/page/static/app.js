// The page: which job, which step, which piece; everything else is a step's own.

import { h, put, say } from "/static/dom.js";
import { words, filled, kindWords } from "/static/words.js";
import { Job, STEPS } from "/static/job.js";
import { Trouble } from "/static/server.js";
import { thread } from "/static/parts/thread.js";
import { trouble } from "/static/parts/trouble.js";
import { piecesRail } from "/static/parts/rail.js";
import { working } from "/static/parts/working.js";
import { topBar } from "/static/parts/top.js";

const SLOW_MS = 400;
const ONE_BY_ONE = ["mat", "piece", "seams"]; // steps that take one piece at a time
const main = document.getElementById("here");
const nav = document.getElementById("thread");
const top = document.getElementById("top");

let job = null;
let shown = null; // {step, piece, leave}
let turn = 0;
let here = location.hash; // of what is shown

function address() {
  const [, id, step, piece] = location.hash.split("/").map(decodeURIComponent);
  return { id, step, piece };
}

/** Go to a step of the open job. */
function go(step, piece) {
  const parts = [job.id, step, piece].filter(Boolean).map(encodeURIComponent);
  const target = `#/${parts.join("/")}`;
  if (location.hash === target) show();
  else location.hash = target;
}

function pieceFor(step, wanted) {
  if (!ONE_BY_ONE.includes(step)) return null;
  return job.piece(wanted) ?? job.pieces.find((one) => !job.seen(step, one.id)) ?? job.pieces[0] ?? null;
}

/** The next thing to look at: the next piece of this step, or the next step. */
function next(step, piece) {
  if (ONE_BY_ONE.includes(step)) {
    const order = job.pieces.map((one) => one.id);
    const after = [...order.slice(order.indexOf(piece) + 1), ...order.slice(0, order.indexOf(piece))];
    const open = after.find((id) => !job.seen(step, id));
    if (open) return go(step, open);
  }
  const following = STEPS[STEPS.indexOf(step) + 1];
  return following ? go(following) : go(step);
}

function context(step, piece) {
  return {
    job, step, piece, unit: job.unit, go, say,
    next: () => next(step, piece?.id),
    again: () => show(),
    async fine() {
      await job.mark(step, piece?.id);
      say(words.said.right);
      next(step, piece?.id);
    },
    fail: (err) => showTrouble(err),
  };
}

function showTrouble(err) {
  if (err?.name === "AbortError") return;
  if (!(err instanceof Trouble)) console.error(err);
  const box = trouble(err instanceof Trouble ? err : { ...words.trouble.ours }, { again: () => { shown = null; job?.look({ fresh: true }).then(show, showTrouble); } }); // as it is now: what was typed here goes
  // over what lies there, so that nothing jumps; a dialog would hide what stands behind it
  const place = document.querySelector("dialog[open]") ?? main.querySelector(".troubles") ?? main;
  place.prepend(box);
  box.focus({ preventScroll: true });
}

async function show() {
  const mine = (turn += 1);
  if ((await shown?.leave?.()) === false) return history.replaceState(null, "", here); // something typed can't be kept: it says so
  if (mine !== turn) return undefined;
  here = location.hash;
  const { id, step, piece } = address();
  shown = null;
  try {
    if (!id) return void await start(mine);
    if (job?.id !== id) await openJob(id);
    else if (job.elsewhere) await job.look({ fresh: true });
    job.elsewhere = false;
    if (mine !== turn) return undefined;
    if (!STEPS.includes(step)) {
      const place = job.state.place ?? {};
      history.replaceState(null, "", `#/${encodeURIComponent(id)}/${place.step ?? "pictures"}${place.piece ? `/${place.piece}` : ""}`);
      return void await show();
    }
    await showStep(step, piece, mine);
  } catch (err) {
    if (mine !== turn) return undefined;
    put(main, h("h1", {}, words.steps[step]?.name ?? "ownblock"), h("div", { class: "troubles" }));
    showTrouble(err);
  }
  return undefined;
}

async function openJob(id) {
  job?.close();
  job = await new Job(id).open();
  job.addEventListener("state", () => bars());
  job.addEventListener("work", (event) => { bars(); shown?.work?.(event.detail); });
  job.addEventListener("state", (event) => { if (event.detail.changed) shown?.news?.(); });
  job.addEventListener("busy", (event) => keeping(event.detail > 0));
  job.addEventListener("elsewhere", () => {
    if (shown?.news) job.elsewhere = false; // it has laid itself out anew
    else showTrouble(new Trouble({ ...words.trouble.elsewhere, code: "stale" }, 409));
  });
}

function bars() {
  const { step, piece } = address();
  put(top, topBar(job, { unit: setUnit, rename: setTitle }));
  nav.hidden = !job;
  if (job) put(nav, thread(job, step, piece, go), working(job));
  const rail = main.querySelector(".rail");
  if (rail && shown) rail.replaceWith(piecesRail(job, shown.step, shown.piece?.id, go));
}

let pending = 0;
/** A word at the edge while a change takes longer than a moment. */
function keeping(on) {
  const place = document.getElementById("keeping");
  clearTimeout(pending);
  if (on) pending = setTimeout(() => { place.textContent = words.keeping; }, SLOW_MS);
  else place.textContent = "";
}

async function setUnit(unit) {
  try {
    await job.change("PATCH", "", { unit });
    await job.look();
    await show();
    say(words.said.unit[unit]);
  } catch (err) { bars(); showTrouble(err); }
}

async function setTitle(title) {
  try {
    await job.change("PATCH", "", { title });
    await job.look();
  } catch (err) { bars(); showTrouble(err); }
}

async function showStep(step, wanted, mine) {
  const piece = pieceFor(step, wanted);
  const ctx = context(step, piece);
  const name = words.steps[step].name;
  document.title = `${name}${piece ? `, ${kindWords(piece.kind)}` : ""} · ${job.state.title || "ownblock"}`;
  const { build } = await import(`/static/steps/${step}.js`);
  if (mine !== turn) return;
  job.keep({ step, piece: piece?.id ?? null });
  const body = h("div", { class: `step step-${step}` });
  put(
    main,
    h("div", { class: "troubles" }),
    ONE_BY_ONE.includes(step) && job.pieces.length > 0 ? piecesRail(job, step, piece?.id, go) : null,
    body,
  );
  body.append(h("p", { class: "waiting" }, words.one_moment));
  bars();
  window.scrollTo(0, 0);
  const built = ONE_BY_ONE.includes(step) && !piece ? { element: nothingYet(ctx) } : await build(ctx);
  if (mine !== turn) { built.leave?.(); return; }
  put(body, built.element);
  shown = { step, piece, ...built };
  job.look().catch(() => {}); // the steps may stand differently after what was done
  built.ready?.();
  if (!built.keepsFocus) main.focus({ preventScroll: true });
  say(filled(words.said.step, { number: STEPS.indexOf(step) + 1, of: STEPS.length, name }));
}

function nothingYet(ctx) {
  return h("section", { class: "ask" },
    h("h1", {}, words.nothing_yet.question),
    h("p", {}, words.nothing_yet.words),
    h("div", { class: "answers" }, h("button", { class: "main", onclick: () => ctx.go("pictures") }, words.nothing_yet.go)));
}

async function start(mine) {
  job?.close();
  job = null;
  document.title = "ownblock";
  nav.hidden = true;
  put(top, topBar(null, {}));
  const { build } = await import("/static/steps/start.js");
  const built = await build({ open: (id) => { location.hash = `#/${encodeURIComponent(id)}`; }, fail: showTrouble });
  if (mine !== turn) return;
  put(main, h("div", { class: "troubles" }), built.element);
}

window.addEventListener("hashchange", show);
document.querySelector(".skip").addEventListener("click", (event) => { event.preventDefault(); main.focus(); });
show();
