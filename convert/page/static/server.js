// Talking to the program on this machine. Every trouble has one shape: what is wrong, and what to do.

import { words } from "/static/words.js";

const KEPT_ALIVE = 60_000; // bytes; browsers let so much be sent on after a page was left

/** Something the server refused or that went wrong on the way. */
export class Trouble extends Error {
  /**
   * @param {{problem: string, remedy: string, code?: string}} said
   * @param {number} [status] of the answer; 0 if there was none
   */
  constructor({ problem, remedy, code }, status = 0) {
    super(problem);
    this.problem = problem;
    this.remedy = remedy;
    this.code = code;
    this.status = status;
  }
}

/**
 * @param {string} path
 * @param {RequestInit} [options]
 */
async function asked(path, options = {}) {
  let answer;
  try {
    answer = await fetch(path, { credentials: "same-origin", ...options });
  } catch (err) {
    if (err.name === "AbortError") throw err;
    throw new Trouble({ ...(options.method ? words.trouble.gone_change : words.trouble.gone), code: "gone" });
  }
  if (answer.ok) return answer;
  let said = null;
  try { said = await answer.json(); } catch { /* not the program's own answer */ }
  throw new Trouble(said?.problem ? said : { ...words.trouble.ours, code: "fault" }, answer.status);
}

async function content(answer) {
  if (answer.status === 204) return {};
  const type = answer.headers.get("content-type") ?? "";
  return type.includes("json") ? answer.json() : answer.text();
}

/** @type {(path: string, options?: RequestInit) => Promise<any>} */
export const get = async (path, options) => content(await asked(path, options));

/**
 * @param {string} method
 * @param {string} path
 * @param {unknown} [body]
 * @param {{revision?: string, signal?: AbortSignal}} [options]
 */
export async function send(method, path, body, { revision, signal } = {}) {
  const headers = { "Content-Type": "application/json" };
  if (revision) headers["If-Match"] = `"${revision}"`;
  const text = body === undefined ? undefined : JSON.stringify(body);
  return content(await asked(path, { method, headers, signal, body: text, keepalive: (text?.length ?? 0) < KEPT_ALIVE })); // it arrives though the page is left
}

/**
 * A picture, as it lies on the disk.
 * @param {string} path
 * @param {File} file
 * @param {{revision?: string}} [options]
 */
export async function sendPicture(path, file, { revision } = {}) {
  const headers = {
    "Content-Type": file.type.startsWith("image/") || file.type === "application/pdf" ? file.type : "image/*",
    "X-File-Name": encodeURIComponent(file.name),
  };
  if (revision) headers["If-Match"] = `"${revision}"`;
  return content(await asked(path, { method: "POST", headers, body: file }));
}
