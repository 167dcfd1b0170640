// All words of the page in one place. To translate it, copy this file; {names in braces} are filled in.

const nbsp = "\u00a0";

export const words = {
  one_moment: "One moment.",
  keeping: "One moment, keeping it…",
  untitled: "My block",
  all_jobs: "to all my work",
  job_name: "What you call this work",
  unit_legend: "Measure in",
  units: { cm: "cm", in: "inches" },
  step_of: "Step {number} of {of}:",
  all_steps: "All steps",
  rail: "Pieces",
  doubts: "Worth a second look",
  states: {
    waiting: "later", "needs you": "needs you", working: "working", done: "looks right", stuck: "needs mending", look: "to look at", here: "you are here",
  },
  said: {
    right: "Looks right.", step: "Step {number} of {of}: {name}",
    unit: { cm: "Centimetres.", in: "Inches." },
  },
  working: { reading: "Reading the {kind}.", stop: "Stop" },
  answers: { right: "Looks right", fix: "Let me fix it", done: "Done fixing" },
  sure: { 1: "a guess", 2: "fairly sure", 3: "sure" },
  trouble: {
    gone: { problem: "The program does not answer.", remedy: "Look whether ownblock is still running; if not, start it again. What you did before is kept." },
    gone_change: { problem: "The program does not answer. Your last change was not kept.", remedy: "Look whether ownblock is still running; if not, start it again and repeat the change. What you did before is kept." },
    ours: { problem: "Something went wrong inside the program.", remedy: "What was kept before is safe. Try once more; if it happens again, start ownblock anew." },
    elsewhere: { problem: "This was changed in another window.", remedy: "Look at it as it is now, and repeat your change if it is still wanted." },
    look_again: "Look again", close: "Close",
  },
  nothing_yet: { question: "There is no piece yet", words: "First say which picture shows which piece.", go: "To the pictures" },
  special: {
    title: "More about this piece", face_down: "The paper lies with its printed side down", scan: "It is a scan from a flatbed scanner", turn: "Turn the picture", left: "to the left", right: "to the right", print: "What is printed on it?", reads: "Reading its print. It takes some seconds.", says: "It says “{text}”: {kind}.", says_nothing: "No title could be read on it.", take: "It is the {kind}",
    size_now: "Size {size} is followed.", size_other: "Choose another size",
    size: { question: "Which line is your size of the {kind}?", how: "Tap the line in the picture, or choose it below. They are counted from the inside.", one: "Line {n} of {of}", other: "Follow another size" },
    at: { question: "Which of these is the {kind}?", how: "Tap it in the picture, or choose it below. They are counted from the left.", one: "Piece {n} of {of}", other: "It is another piece in the picture" },
  },
  read_first: { question: "The {kind} has not been read yet", words: "Its picture is straightened by the mat’s lines, then the outline and the marks are found. It takes a few seconds.", go: "Read it now", stuck: "The {kind} can’t be read like this", asks: "Point at the {kind}", back_crossings: "Take back the crossings that I moved", back_piece: "Back to what was read", again: "Read it once more", busy: "Reading the {kind}" },

  steps: {
    pictures: { name: "Pictures" }, mat: { name: "The mat" }, piece: { name: "The piece" }, seams: { name: "Seams" }, maker: { name: "You" },
    compare: { name: "Compare" }, block: { name: "The block" }, paper: { name: "Paper" }, toile: { name: "After the toile" },
  },

  kinds: {
    "bodice front": "bodice front", "bodice back": "bodice back", sleeve: "sleeve", "skirt front": "skirt front", "skirt back": "skirt back",
    "dress front": "dress front", "dress back": "dress back", "trousers front": "trousers front", "trousers back": "trousers back",
    "bodice front, centre": "centre front panel", "bodice front, side": "side front panel", "bodice back, centre": "centre back panel", "bodice back, side": "side back panel",
    "bodice front yoke": "front yoke", "bodice front, lower": "front below the yoke", "bodice back yoke": "back yoke", "bodice back, lower": "back below the yoke",
    "upper sleeve": "upper sleeve", "under sleeve": "under sleeve",
    "skirt front, centre": "centre front gore", "skirt front, side": "side front gore", "skirt back, centre": "centre back gore", "skirt back, side": "side back gore",
  },
  edges: {
    "centre front": "centre front", "centre back": "centre back", neckline: "neckline", shoulder: "shoulder", armhole: "armhole", "side seam": "side seam",
    waist: "waist", hem: "hem", cap: "cap", "underarm seam front": "underarm seam, front", "underarm seam back": "underarm seam, back", wrist: "wrist", "crotch seam": "crotch seam", inseam: "inseam",
    "panel seam": "panel seam", "yoke seam": "yoke seam", "front seam": "front seam", "back seam": "back seam",
  },

  start: {
    question: "Turn a paper pattern into your own block",
    lead: "Photograph the pattern’s pieces on a cutting mat, write down your measurements, and print a plain block that is yours. One step at a time; all sums are done for you.",
    fresh: "Begin something new", name: "What will you call it?", begin: "Begin",
    demo: "Try it first", demo_words: "Five pieces of a dress from a theatre’s wardrobe room, ready photographed, and a card with measurements.", demo_go: "Open the trial pieces",
    earlier: "Go on with", not_begun: "not begun", steps_done: { one: "1 step done", other: "{n} steps done" },
    stop: "Stop ownblock", stop_words: "Everything is kept.", stopped: "ownblock is stopped", stopped_words: "Everything is kept. You can close this window. To go on, start ownblock again.",
    private: "Everything stays on this machine. Nothing is sent anywhere.",
  },

  pictures: {
    question: "Which pictures have you got?", question_more: "Your pictures",
    needs: "One piece in each picture is best. Later pictures can be added at any time.",
    count: { one: "1 picture.", other: "{n} pictures." },
    drop: "Drop pictures here", choose: "Choose pictures", choose_label: "Choose pictures from this machine",
    bringing: "Bringing in {name}, {number} of {of}", bringing_label: "Bringing in pictures",
    which: "What lies in this picture?", picture_alt: "Picture {name}", second_picture: "one more picture of it",
    parts: "Or a part of a piece: how is the garment cut?", parts_again: "Back to all pieces", which_part: "Which part lies in this picture?",
    cuts: { panels: "in panels", yoke: "with a yoke", sleeve: "sleeve in two parts", gores: "skirt in gores" },
    not_plain: "Cut in another way?",
    not_plain_list: [
      "A raglan sleeve runs up to the neck, so no plain armhole lies in it. Take a pattern with set-in sleeves in your size.",
      "Where sleeve and bodice are cut in one, the armhole is not on the paper. Take a pattern with set-in sleeves in your size.",
      "A cowl’s folds and darts look alike on paper. Take the front’s lining, or another front in your size.",
      "Cloth on the bias hangs longer and narrower than its paper. Take a pattern cut on the straight grain.",
      "A skirt with a hip yoke, or a waistband above the waist, ends below the waist. Take one that reaches the waist.",
      "A dress in panels right through is not laid together. Take one with a waist seam, or the bodice alone.",
    ],
    more: "Something special about it", scan: "It is a scan from a flatbed scanner, not a photograph", face_down: "The paper lies with its printed side down",

    later: "Not now", unnamed: "Not named yet", say_which: "Say what it is", another: "Another piece lies in it", was_taken_out: "Taken out: {what}.", bring_back: "Bring it back", not_this: "Not the {kind}", take_out: "Take out",
    name_next: "Say what the next one is", go_on: "On to the mat",
    advice: "How to take a good picture",
    advice_list: [
      "Lay one piece flat on the mat, with bare grid on at least two sides.",
      "Hold the camera straight above, so that the whole piece and some mat around it can be seen.",
      "Even daylight, no flash. A shadow across the paper does no harm if its edge can still be seen.",
      "Never cut or punch old tissue. Smooth it, and lay small weights inside the edge.",
      "A long piece may take two pictures that overlap.",
      "A bank card laid beside it shows its number: cover the number, or lay another card of that size.",
    ],
  },

  mat: {
    grid_question: "How far apart are the lines on your mat?", grid_words: "Each drawing shows a bank card lying on a mat. Which one is like yours?",
    grids: {
      "1cm": { name: `1${nbsp}cm`, like: "as wide as a fingernail" }, "1in": { name: `1${nbsp}inch`, like: "about a thumb’s end" },
      "1/2in": { name: `½${nbsp}inch`, like: "a little more than a fingernail" }, "5mm": { name: `½${nbsp}cm`, like: "half a fingernail" },
      "2cm": { name: `2${nbsp}cm`, like: "as wide as a large coin" },
    },
    grid_other: "Something else", grid_other_label: "How far apart, such as 25 mm", grid_set: "Use this", grid_change: "The mat’s lines are further apart, or closer",
    question: "Do the drawn lines lie on the mat’s lines?", scan_question: "This is a scan", scan_words: "A scan needs no mat. Its size is taken from what the scanner wrote in the file.",
    doubt_likely: "Are the lines on your mat {grid} apart?", doubt_told: "Are the lines on your mat really {grid} apart?", doubt_yes: "Yes, the lines are {grid} apart", doubt_no: "No, they are {grid} apart",
    found: "The lines are taken to be {pitch} apart.",
    fix_question: "Put the points where the mat’s lines cross", fix_words: "Choose a point, then drag it or point at the right place. Arrow keys move it a little.",
    save: "Straighten again", undo_all: "Put them back", told: "Crossings that you put right", told_one: "Crossing {n}", take_back: "Take it back", point: "Crossing {n} of {of}",
    moved: { one: "1 point put right.", other: "{n} points put right." },
    picture_alt: "The picture of the {kind} with the lattice that was found drawn over it", several: "Picture {n} of {of}",
  },

  view: { nearer: "Nearer", further: "Further", whole: "Show all of it", label: "The picture. Drag to move it, use + and − for nearer and further." },

  piece: {
    question: "Is this the edge of the paper, and are these its marks?", fix_question: "Put right what is not right",
    not_whole: "The piece can’t be seen whole.",
    seen: { outline: "Edge of the paper", seam: "Stitching line", darts: { one: "1 dart", other: "{n} darts", zero: "no darts" }, notches: { one: "1 notch", other: "{n} notches", zero: "no notches" }, holes: { one: "1 hole", other: "{n} holes" }, grain: "Grain", no_grain: "No grain found", fold: "On the fold: {edge}", no_fold: "No edge on the fold" },
    picture_alt: "The {kind}, flattened, with the outline and marks that were found",
    tools_label: "What do you want to do?",
    tools: {
      pick: "Move", point: "Point", notch: "Notch", hole: "Hole", dart: "Dart", name: "Names", grain: "Grain", centre: "Centre", fold: "Fold",
    },
    keys_of: { pick: "M", point: "P", notch: "N", hole: "H", dart: "D", name: "E", grain: "G", centre: "C", fold: "F" },
    tips: {
      pick: "Choose a point or mark, then drag it, or use the arrows.", point: "Point at the edge where a new point shall be.", notch: "Point at the edge where the notch is.",
      hole: "Point at the hole.", dart: "Point at one leg’s end on the edge, then at the tip, then at the other leg’s end. A dart inside the piece: side, tip, side, other tip.",
      dart_more: { 1: "Now its tip.", 2: "Now the other leg’s end.", 3: "" }, name: "Choose an edge to say what it is.",
      grain: "Point at one end of the grain line, then at the other.", centre: "Point at two places on the centre line.", line_more: "Now the other end.", fold: "Choose the edge that lies on the fold.",
    },
    snap: "Snap to the paper’s edge in the picture", undo: "Undo", redo: "Redo", remove: "Remove", smooth: "Make it a smooth curve", sharp: "Make it a corner", straight: "Straight to the next point", curve: "Curve to the next point", as_read: "Back to what was read",
    told: {
      title: "What you changed here", back: "Take it back", again: "Bring my changes back", outline_part: "Stretch {n} of the edge", edge: "This edge is the {edge}",
      one: { outline: "The edge of the paper", corners: "The corners", notches: "The notches", add_notches: "Notches that you added", holes: "The holes", add_holes: "Holes that you added", hole_meanings: "What the holes mean", darts: "The darts", add_darts: "Darts that you added", remove: "Marks that you took out", grain: "The grain line", centre_line: "The centre line", neck_line: "The neckline below a collar cut in one with it", tucks: "Tucks and pleats", fold: "The fold" },
    },
    nudge: { up: "Up", down: "Down", left: "Left", right: "Right" }, nudge_label: "Move a little",
    which_edge: "What is this edge?", follows: "If this is the {name}, other edges change with it:", follows_one: "the {was} becomes the {now}", follow_yes: "Yes, name them so", follow_no: "No, leave all as it is", no_name: "Let the program name it", fold_yes: "It lies on the fold", fold_none: "No edge lies on a fold", fold_guess: "Let the program decide",
    dart_kind: "Does the dart end on an edge?", nothing_chosen: "Nothing is chosen.",
    things: { node: "Point {n} of {of} on the {edge}", corner: "Corner {n} of {of}, {edge}", in: "Curve handle before point {n}", out: "Curve handle after point {n}", notch: "Notch {n}", hole: "Hole {n}", leg: "{dart}, leg {way}", apex: "{dart}, its point", dart_on: "Dart on the {edge}", dart_inside: "Dart inside the piece", side_n: "{n}", ways: { shoulder: [["neckline", "towards the neck"], "towards the armhole"], waist: [["side seam", "towards the side seam"], "towards the centre"], "side seam": [["armhole", "towards the underarm"], "towards the waist"], armhole: [["shoulder", "towards the shoulder"], "towards the side seam"], neckline: [["shoulder", "towards the shoulder"], "towards the centre"] }, grain: "Grain line, end {n}", centre: "Centre line, end {n}", edge: "Edge: {edge}" },
    edge_unknown: "no name yet", list: "Everything on the paper, as a list",
    said: { moved: "{thing}, moved {far} {way}.", added: "{thing} added.", removed: "{thing} removed.", undone: "Undone. {n} more.", redone: "Redone.", nothing: "Nothing to undo.", saved: "Kept.", named: "This edge is the {edge}." },
    doubtful: "Not quite sure about these", is_it: { notch: "Is this a notch?", hole: "Is this a hole?" }, yes: "Yes", no: "No, take it out",
    saving: "Keeping it…", saved: "Kept", help: "Keys", close: "Close",
    help_list: [
      ["Page down, Page up", "to the next or previous point or mark"], ["Arrow keys", "move what is chosen a little"], ["Shift + arrow", "move it further"], ["Alt + arrow", "move it very little"],
      ["Delete", "remove it"], ["Ctrl + Z", "undo"], ["Ctrl + Y or Ctrl + Shift + Z", "redo"], ["+ and −", "nearer and further"], ["0", "show all of it"],
      ["N, H, P", "new notch, hole or point"], ["D, G, C", "dart, grain, centre line"], ["E, F", "name an edge, choose the fold"], ["Enter", "put the new thing where the cross is"], ["M, Escape", "back to moving"],
    ],
  },

  seams: {
    question: "How much of the paper is seam allowance?", words: "The space between the cut edge and the stitching line. Choose an edge to change it.",
    evidence: { measured: "seen on the paper", told: "you said so", deduced: "worked out", assumed: "a guess" }, sure_of: { measured: 3, told: 3, deduced: 2, assumed: 1 },
    edge_line: "{edge}: {width}", none: "no allowance", fold: "on the fold, no allowance",
    fix_question: "{edge}: how wide is its allowance?", widths: "Widths to choose from", other: "Another width", set: "Use this", untell: "Let the program find it", all_edges: "Use it for every edge of this piece",
    picture_alt: "The {kind} with its cut edge and its stitching line", plus_minus: "give or take {width}", choose: "Choose an edge", close: "Leave it as it is",
    for_mats: "For comparison",
  },

  maker: {
    question_size: "What size was the pattern drawn for?", size_words: "It stands on the envelope. If you have no envelope, leave it open.", chart: "Which table?", size: "Size", own: "What the envelope gives for your pattern’s size", size_ways: { own: "The envelope gives the measurements of its size", table: "I know the number of the size", none: "I don’t know" }, size_tap: "Tap the row of the pattern’s size.", size_is: "Size {size}.", size_own: "as on the envelope", size_open: "Then it is left open.", size_told: "Something was said about the size before.",
    name: "Who is the block for?", name_words: "A name or a nickname. It is printed on the paper. Is it somebody else? Ask before you measure or touch.",
    measure: "Measure {words}", how_many: "{done} of {of} measured", have: "You have said {length}.", missing: "Not measured yet. It will be estimated from the others.",
    keep: "Keep it", skip: "Not now", previous: "Before", next: "Next", forget: "Take it out", field: "What does the tape show?", in_unit: "in {unit}",
    slip_question: "May I ask about this one?", slip_right: "It is right as it is", slip_offer: "It should be {length}", card: "The whole card", card_words: "Choose one to change it.", estimated: "estimated {length}", not_measured: "not measured", finished: "On to comparing",
    all_done: "That is everything", all_done_words: "All measurements that your pieces need are there.", enough: "Enough for now", groups: { bodice: "For the bodice", sleeve: "For the sleeve", skirt: "For the skirt", dress: "For the dress", trousers: "For the trousers", "": "General" },
    pattern_step: "The pattern’s size", name_step: "The name",
  },

  compare: {
    question: "Your body and the pattern", words: "Each picture shows where it is measured, and how far the pattern is from what you and your ease need.",
    right: "I have seen it", nothing: "Nothing can be compared yet", nothing_words: "It needs pieces whose seams are known, and at least a few measurements.", details: "This is sure to about {length}.", go_maker: "Change a measurement",
    estimated: "This measurement of yours is estimated.",
    together: "The {kind}, laid together from its parts", together_key: "Heavy lines are seams that touch. Hatched is what becomes a dart. The parts are dashed.",
  },

  block: {
    question: "From the pattern to your block", words: "These are the changes a cutter would make by hand, one after the other.", move_of: "Change {n} of {of}", before_after: "Before (dashed) and after",
    amount: "How much", less: "A little to the left", more: "A little to the right", nothing_done: "nothing is changed.", suggested: "Back to what was suggested", suggested_all: "All changes back to what was suggested", suggested_mark: "suggested", previous: "The change before", next: "The next change", all: "All changes", others: "Something else to change", told: "you said so", whole: "The whole block",
    ease: "How much room do you like?", darts: "Where shall the bust dart lie?", checks: "Does it fit together?", sound: "Everything fits together.", unsound: { one: "1 thing does not fit together yet.", other: "{n} things do not fit together yet." },
    keeping: "Keeping it…", kept: "Kept", nothing: "The block can’t be made yet", fits: "fits", off: "look here", show_checks: "Everything that was checked", result: "What it gives", off_by: "{name}: {length} {way} than you and your ease need", longer: "more", shorter: "less",
    piece_alt: "The {kind} of the block", no_moves: "Nothing has to be changed: the pattern is your block.", of_block: "On the block: {length}.",
  },

  paper: {
    question: "What shall it be printed on?", no_block: "There is nothing to print yet", papers: "Paper", scale: "How large", scales: { full: "Full size", half: "Half size, to practise", quarter: "Quarter size, to practise" }, allowance: "Seam allowance", without: "none: a block for drafting", with: "with allowance, for a toile", width: "How wide",
    sheets: { one: "1 sheet", other: "{n} sheets" }, sheet_alt: "Sheet {n}: {name}", preview: "How the sheets lie",
    test: "First, try the printer", test_words: "Printers often shrink a page. Print this one sheet at 100 %. A side of its square should be {length}.", test_go: "Make the test sheet", test_field: "How long is a side of the square on paper?", test_set: "Use what I measured", test_none: "Correct nothing", test_done: "The sheets are corrected: a side of {length} came out as {seen}.",
    stale: "The sheets you have are out of date", stale_words: "The block was changed after they were made. Make the sheets once more.", stale_list: "Sheets of an earlier block",
    make: "Make the sheets", ready: "Ready to print", download: "Download", print_words: "Print at 100 % (“actual size”), never “fit to page”. Then measure the test square.", making: "Making the sheets", preview_making: "Laying out the sheets",
    cautions: ["Try the block in cheap cloth (a toile) before you cut good cloth.", "Blades, pins and awls injure: cut away from your hand, cover blades.", "A hot iron burns.", "A published pattern belongs to its publisher. A block taken from it is for your own use, as far as the law where you live allows. For a whole class, ask the publisher."],
    next: "After the toile", sizes: { kB: "kB", MB: "MB" }, custom: "Another paper", others: "Other files",
  },

  toile: {
    question: "What did the toile show?", words: "Sew a toile, put it on, pin what does not sit. Ask before you touch or pin somebody, and keep the points away from the skin. Then choose the place on the drawing and say how much.", choose: "Or: where was it pinned?", chosen: "{place}", how_much: { each: "How much, on each piece?", whole: "How much, all the way round?", "every dart": "How much, on every dart?" }, more: "let out", less: "take in",
    save: "Carry it into the block", undo: "Take the last one back", redo: "Let it hold again", done_list: "Carried into the block", nothing: "Nothing yet.", again: "To the paper", stale: "The sheets that were printed before are out of date.", print_now: "Make the new sheets", leave: "Not this one", by_name: "Or choose from the list", alt: "The {kind}, with places that can be chosen",
    say_label: "Say what you see, in your own words", say_hint: "For example: the bust dart points too low, 1.5 cm. Or: the neckline gapes.", say_it: "Say it", say_how_much: "Say how much", so_it_is: "Yes, do this", this_one: "It is this one", understood: "Understood as: {sentence}",
    no_block: "There is no block yet",
    places: {},
  },
};

/** Fill {names} in a text. */
export const filled = (text, values = {}) => text.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? values[name] : whole));

const rules = new Intl.PluralRules("en");
/** One or many. */
export function plural(forms, n) {
  const form = n === 0 && forms.zero ? forms.zero : forms[rules.select(n)] ?? forms.other;
  return filled(form, { n });
}

export const kindWords = (kind) => words.kinds[kind] ?? kind ?? "";
export const edgeWords = (name) => words.edges[name] ?? name ?? words.piece.edge_unknown;
export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);
