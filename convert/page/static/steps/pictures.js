// Step 1: pictures are dropped in or chosen, and each is told what lies in it.

import { h, put } from "/static/dom.js";
import { words, filled, kindWords, plural } from "/static/words.js";
import { CUTS, KINDS, cutDrawing, kindDrawing } from "/static/parts/kinds.js";
import { trouble } from "/static/parts/trouble.js";
import { working } from "/static/parts/working.js";

const t = words.pictures;

export async function build(ctx) {
  const { job } = ctx;
  const root = h("section", { class: "pictures" });
  const busy = h("div", { class: "uploads", role: "status" });

  async function take(files) {
    for (const [at, file] of [...files].entries()) {
      put(busy, h("p", {}, filled(t.bringing, { name: file.name, number: at + 1, of: files.length })), h("progress", { max: files.length, value: at, "aria-label": t.bringing_label }));
      try {
        await job.addPicture(file);
      } catch (err) {
        if (!err.problem) { ctx.fail(err); continue; }
        root.querySelector(".refused").append(trouble({ problem: err.problem.includes(file.name) ? err.problem : `${file.name}: ${err.problem}`, remedy: err.remedy }));
      }
    }
    put(busy);
    await job.look();
    draw();
    const first = unnamed()[0];
    if (first) ask(first);
  }

  const named = (picture) => job.pieces.filter((piece) => piece.pictures.some((one) => one.id === picture.id));
  const all = () => job.state.pictures ?? [...new Map(job.pieces.flatMap((piece) => piece.pictures).map((one) => [one.id, one])).values()];
  const unnamed = () => all().filter((picture) => named(picture).length === 0);

  async function change(call) {
    try { await call(); await job.look(); draw(); } catch (err) { ctx.fail(err); }
  }

  /** Which piece lies in the picture? */
  function ask(picture) {
    const close = () => { dialog.close(); dialog.remove(); };
    const scan = h("input", { type: "checkbox" });
    const down = h("input", { type: "checkbox" });
    const choose = (kind) => change(async () => {
      const existing = job.pieces.find((piece) => piece.kind === kind);
      if (existing) await job.change("PATCH", `/pieces/${existing.id}`, { pictures: [...existing.pictures.map((one) => one.id), picture.id] });
      else await job.change("POST", "/pieces", { kind, pictures: [picture.id], ...(scan.checked ? { scan: true } : {}), ...(down.checked ? { face_down: true } : {}) });
      await job.look();
      const fresh = job.pieces.find((piece) => piece.kind === kind);
      close();
      if (fresh && (job.state.grid || scan.checked)) job.read(fresh.id).catch(ctx.fail);
      const more = unnamed()[0];
      if (more) ask(more);
    });
    const tile = (kind) => h("li", {}, h("button", { class: "tile", onclick: () => choose(kind) }, kindDrawing(kind), kindWords(kind),
      job.pieces.some((piece) => piece.kind === kind) ? h("small", {}, t.second_picture) : null));
    const tiles = h("div", {});
    /** All pieces, and below them how a garment may be cut; or the parts of one that is cut so. */
    function show(cut) {
      if (!cut) {
        put(tiles, h("ul", { class: "tiles" }, KINDS.map(tile)),
          h("h3", {}, t.parts), h("ul", { class: "tiles cuts" }, CUTS.map((one) => h("li", {}, h("button", { class: "tile", onclick: () => show(one) }, cutDrawing(one), t.cuts[one.key])))),
          h("details", {}, h("summary", {}, t.not_plain), h("ul", {}, t.not_plain_list.map((one) => h("li", {}, one)))));
        return;
      }
      put(tiles, h("h3", { tabindex: "-1" }, t.which_part), h("ul", { class: "tiles" }, cut.parts.map(tile)), h("button", { class: "plain small", onclick: () => { show(null); tiles.querySelector(".cuts button").focus(); } }, t.parts_again));
      tiles.querySelector("h3").focus();
    }
    show(null);
    const dialog = h("dialog", { "aria-labelledby": "what-is-it", onclose: () => dialog.remove() },
      h("h2", { id: "what-is-it" }, t.which),
      h("div", { class: "which" },
        h("img", { src: job.url(`/pictures/${picture.id}/image?width=700`), alt: filled(t.picture_alt, { name: picture.name }) }),
        tiles),
      h("details", {}, h("summary", {}, t.more), h("label", { class: "tick" }, scan, t.scan), h("label", { class: "tick" }, down, t.face_down)),
      h("div", { class: "answers" }, h("button", { class: "plain", onclick: close }, t.later)));
    document.body.append(dialog);
    dialog.showModal();
  }

  const chooser = h("input", { type: "file", id: "choose-pictures", multiple: true, accept: "image/*,.heic,.heif,.tif,.tiff,.pdf", class: "file", onchange: (event) => { take([...event.target.files]); } });
  const drop = h("div", { class: "drop",
    ondragover: (event) => { event.preventDefault(); drop.classList.add("over"); },
    ondragleave: () => drop.classList.remove("over"),
    ondrop: (event) => { event.preventDefault(); drop.classList.remove("over"); take([...event.dataTransfer.files].filter((file) => file.size >= 0)); } },
  kindDrawing("bodice front"), h("p", {}, t.drop), chooser, h("label", { for: "choose-pictures", class: "as-button main" }, t.choose));

  function row(picture) {
    const pieces = named(picture);
    const problem = pieces.flatMap((piece) => piece.pictures).find((one) => one.id === picture.id && one.problem)?.problem ?? picture.problem;
    return h("li", { class: "card picture" },
      h("img", { src: job.url(`/pictures/${picture.id}/image?width=480`), alt: filled(t.picture_alt, { name: picture.name }), loading: "lazy" }),
      h("div", {},
        h("p", {}, pieces.length ? h("strong", {}, pieces.map((piece) => kindWords(piece.kind)).join(", ")) : h("strong", { class: "open" }, t.unnamed)),
        problem ? trouble(typeof problem === "string" ? { problem } : problem, { close: false }) : null,
        pieces.map((piece) => working(job, piece.id)),
        h("div", { class: "row" },
          h("button", { class: pieces.length ? "plain small" : "small", onclick: () => ask(picture) }, pieces.length ? t.another : t.say_which, h("span", { class: "unseen" }, ` ${picture.name}`)),
          pieces.map((piece) => h("button", { class: "plain small", onclick: () => change(() => job.change("DELETE", `/pieces/${piece.id}`)) }, filled(t.not_this, { kind: kindWords(piece.kind) }))),
          pieces.length === 0 ? h("button", { class: "plain small", onclick: () => change(() => job.change("DELETE", `/pictures/${picture.id}`)) }, t.take_out, h("span", { class: "unseen" }, ` ${picture.name}`)) : null)));
  }

  function draw() {
    const pictures = all();
    put(root,
      h("div", { class: "ask" }, h("h1", {}, pictures.length ? t.question_more : t.question), h("p", {}, pictures.length ? plural(t.count, pictures.length) : t.needs)),
      job.state.removed ? h("p", { class: "undo-bar", role: "status" }, h("span", {}, filled(t.was_taken_out, { what: kindWords(job.state.removed) })), h("button", { class: "small", onclick: () => change(() => job.change("POST", "/undo-removal")) }, t.bring_back)) : null,
      h("div", { class: "refused" }, [...root.querySelectorAll(".refused > *")]),
      pictures.length ? h("ul", { class: "picture-list" }, pictures.map(row)) : null,
      drop, busy,
      h("details", { class: "advice", open: pictures.length === 0 }, h("summary", {}, t.advice), h("ul", {}, t.advice_list.map((one) => h("li", {}, one)))),
      pictures.length ? h("div", { class: "answers stick" }, unnamed().length
        ? h("button", { class: "main", onclick: () => ask(unnamed()[0]) }, t.name_next)
        : h("button", { class: "main", onclick: () => ctx.go("mat") }, t.go_on)) : null);
  }
  draw();
  const news = () => { if (!document.querySelector("dialog[open]")) draw(); };
  return { element: root, news, work: news };
}
