// Undo and redo without limit: documents share what did not change, so each step costs little.

export class History {
  #past = [];
  #future = [];
  constructor(doc) { this.doc = doc; }

  /** A finished change. */
  put(doc) {
    if (doc === this.doc) return;
    this.#past.push(this.doc);
    this.#future = [];
    this.doc = doc;
  }
  /** Back to a document that was good, as if nothing had been done since. */
  drop(doc) {
    while (this.#past.length && this.doc !== doc) this.doc = this.#past.pop();
    this.doc = doc;
    this.#future = [];
  }
  undo() {
    if (!this.#past.length) return false;
    this.#future.push(this.doc);
    this.doc = this.#past.pop();
    return true;
  }
  redo() {
    if (!this.#future.length) return false;
    this.#past.push(this.doc);
    this.doc = this.#future.pop();
    return true;
  }
  get undos() { return this.#past.length; }
  get redos() { return this.#future.length; }
}
