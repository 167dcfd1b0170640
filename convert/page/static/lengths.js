// Millimetres as a person reads them: centimetres or inches with eighths, one unit at a time.

const INCH = 25.4;
const EIGHTHS = ["", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"];

const steps = (mm, step) => Math.sign(mm) * Math.floor(Math.abs(mm) / step + 0.5 + 1e-9);

function centimetres(mm, step) {
  const tenths = Math.round(steps(mm, step) * step);
  const whole = Math.floor(Math.abs(tenths) / 10), rest = Math.abs(tenths) % 10;
  return `${tenths < 0 ? "−" : ""}${whole}${rest ? `.${rest}` : ""}`;
}

function inches(mm) {
  const eighths = steps(mm, INCH / 8);
  const whole = Math.floor(Math.abs(eighths) / 8), part = EIGHTHS[Math.abs(eighths) % 8];
  return `${eighths < 0 ? "−" : ""}${[whole || !part ? String(whole) : "", part].filter(Boolean).join(" ")}`;
}

const NBSP = "\u00a0";
const number = (mm, unit, step) => (unit === "in" ? inches(mm) : centimetres(mm, step)).replace(" ", NBSP);

/** A body measurement: to half a centimetre, or an eighth of an inch. */
export const ofBody = (mm, unit) => `${number(mm, unit, 5)}${NBSP}${unit}`;

/** A length on paper: to a tenth of a centimetre, or an eighth of an inch; nothing that is there reads as nought. */
export function ofPaper(mm, unit) {
  const least = unit === "in" ? INCH / 8 : 1;
  const below = mm && !steps(mm, least);
  return `${below ? "less than " : ""}${number(below ? least : mm, unit, 1)}${NBSP}${unit}`;
}

/** Only the number, for a field that says its unit beside it. */
export const bareNumber = (mm, unit) => (unit === "in" ? inches(mm) : centimetres(mm, 1));

/** A length that the server is to read, with its unit. */
export const asTyped = (mm, unit) => `${unit === "in" ? inches(mm) : centimetres(mm, 1)} ${unit}`;

/** Text she typed, with her unit added where she wrote only a number. */
export const withUnit = (text, unit) => (/[a-z"″”'′]/i.test(text) ? text.trim() : `${text.trim()} ${unit}`);

/** What she typed, as she typed it, with its unit; in the unit of the page if that was changed since. */
export function typedWords(text, mm, unit) {
  if (!text) return mm ? ofPaper(mm, unit) : "";
  const own = /[a-z"″”'′]/i.test(text);
  if (!own) return `${text.trim()}${NBSP}${unit}`;
  const mine = unit === "in" ? /in|"|″|”/i : /cm/i;
  return mine.test(text) || !mm ? text.trim() : ofPaper(mm, unit);
}

/** How far an arrow key or a slider goes at a time, in mm. */
export const stepOf = (unit) => (unit === "in" ? INCH / 8 : 1);
