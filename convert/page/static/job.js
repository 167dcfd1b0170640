// The job that is open: its state as the server has it, changes one after another, news as it happens.

import { get, send, sendPicture, Trouble } from "/static/server.js";
import { words } from "/static/words.js";

export const STEPS = ["pictures", "mat", "piece", "seams", "maker", "compare", "block", "paper", "toile"];

export class Job extends EventTarget {
  constructor(id) {
    super();
    this.id = id;
    this.state = null;
    this.work = new Map(); // piece id -> {work, stage, number, of}
    this.queue = Promise.resolve();
    this.ours = new Set(); // revisions that our own changes made
    this.changes = 0; // under way
    this.elsewhere = false; // changed in another window since the step on the table was laid out
    this.base = `/api/jobs/${encodeURIComponent(id)}`;
  }

  async open() {
    await this.look();
    this.events = new EventSource(`${this.base}/events`);
    this.events.onmessage = (event) => this.#heard(JSON.parse(event.data));
    return this;
  }

  close() { this.events?.close(); }

  get unit() { return this.state?.unit ?? "cm"; }
  get pieces() { return this.state?.pieces ?? []; }
  piece(id) { return this.pieces.find((one) => one.id === id); }
  get(path, options) { return get(`${this.base}${path}`, options); }
  url(path) { return `${this.base}${path}`; }

  /**
   * Fetch the state anew. What another window changed is told as "elsewhere", unless the step is about to be laid out
   * anew with what is fetched (`fresh`).
   */
  async look({ fresh = false } = {}) {
    const state = await get(this.base);
    await this.queue; // a change of our own may be on its way
    const changed = !this.state || state.revision !== this.state.revision;
    const strange = changed && this.state && !this.ours.has(state.revision);
    const place = this.state?.place;
    this.state = state;
    if (place) this.state.place = { ...state.place, ...place }; // hers is the newest
    this.dispatchEvent(new CustomEvent("state", { detail: { changed } }));
    if (strange && !fresh) {
      this.elsewhere = true;
      this.dispatchEvent(new CustomEvent("elsewhere"));
    }
    return state;
  }

  /** A change: sent when those before it are done, with the revision that they left. */
  change(method, path, body) {
    return this.#after(() => send(method, `${this.base}${path}`, body, { revision: this.state.revision }));
  }

  addPicture(file) {
    return this.#after(() => sendPicture(`${this.base}/pictures`, file, { revision: this.state.revision }));
  }

  #after(call) {
    this.#busy(1);
    const result = this.queue.then(async () => {
      if (this.elsewhere) throw new Trouble({ ...words.trouble.elsewhere, code: "stale" }, 409);
      const answer = await call();
      if (answer.revision) {
        this.state.revision = answer.revision;
        this.ours.add(answer.revision);
      }
      return answer;
    });
    this.queue = result.catch(() => {}).finally(() => this.#busy(-1));
    return result;
  }

  #busy(by) {
    this.changes += by;
    this.dispatchEvent(new CustomEvent("busy", { detail: this.changes }));
  }

  /** Read a piece's pictures; news comes as "work" events. */
  async read(piece) {
    const { work } = await send("POST", `${this.base}/pieces/${piece}/read`, {});
    if (work) this.work.set(piece, { work, stage: "", ...this.work.get(piece) });
    this.dispatchEvent(new CustomEvent("work", { detail: { piece } }));
    return work;
  }

  async stop(piece) {
    const at = this.work.get(piece);
    if (at) await send("DELETE", `${this.base}/work/${at.work}`);
  }

  // -- what was called right, and where she is

  seen(step, piece) { return (this.state?.place?.seen ?? []).includes(piece ? `${step}/${piece}` : step); }

  async mark(step, piece, fine = true) {
    const key = piece ? `${step}/${piece}` : step;
    const place = (this.state.place ??= {});
    const rest = (place.seen ?? []).filter((one) => one !== key);
    place.seen = fine ? [...rest, key] : rest;
    await this.keep({ seen: place.seen });
    this.dispatchEvent(new CustomEvent("state", { detail: { changed: false } }));
  }

  /** What stood on something that has changed wants to be looked at again. */
  async unmark(keys) {
    const before = this.state?.place?.seen ?? [];
    const after = before.filter((one) => !keys.includes(one));
    if (after.length === before.length) return;
    this.state.place.seen = after;
    await this.keep({ seen: after });
    this.dispatchEvent(new CustomEvent("state", { detail: { changed: false } }));
  }

  async keep(place) {
    Object.assign((this.state.place ??= {}), place);
    try { await send("PUT", `${this.base}/place`, place); } catch { /* a place that is not kept costs nobody anything */ }
  }

  #heard(news) {
    if (news.work) {
      if (news.done || news.problem || news.stopped) this.work.delete(news.piece);
      else this.work.set(news.piece, news);
      const tell = () => this.dispatchEvent(new CustomEvent("work", { detail: news }));
      if (news.done || news.problem || news.stopped) this.look().then(tell, tell);
      else tell();
    }
    if (news.revision && this.state && news.revision !== this.state.revision) {
      // wait for our own changes: only what another window did is news
      this.queue.then(() => {
        if (news.revision !== this.state.revision && !this.ours.has(news.revision)) this.look().catch(() => {});
      });
    }
  }
}
