// @ts-check
/**
 * Talking to the program on this computer. Effect.
 *
 * Every refusal becomes an `ApiError` with the server's own sentence. `latest()` makes a caller
 * that keeps one request under way and only the newest one waiting, so that an older answer
 * never wins and a drag never builds a queue.
 */

export class ApiError extends Error {
  /** @param {{code?: string, message: string, hint?: string, details?: any, status?: number}} told */
  constructor({ code = "error", message, hint = "", details = {}, status = 0 }) {
    super(message);
    this.code = code;
    this.hint = hint;
    this.details = details;
    this.status = status;
  }
}

export const LOST = "The program has stopped answering.";
const LOST_HINT = "Start storeyrod again on this computer: your work is saved up to the last edit, and what came after is still on this page.";

/**
 * @param {string} path @param {RequestInit & {json?: any}} [options] @returns {Promise<Response>}
 */
export async function ask(path, options = {}) {
  const { json, ...rest } = options;
  /** @type {RequestInit} */
  const init = { credentials: "same-origin", ...rest };
  if (json !== undefined) {
    init.method ??= "POST";
    init.body = JSON.stringify(json);
    init.headers = { "Content-Type": "application/json", ...init.headers };
  }
  let response;
  try {
    response = await fetch(path, init);
  } catch (problem) {
    if (/** @type {Error} */ (problem).name === "AbortError") throw problem;
    throw new ApiError({ code: "lost", message: LOST, hint: LOST_HINT });
  }
  if (response.ok) return response;
  const refusal = new ApiError({ ...(await refusalOf(response)), status: response.status });
  if (refusal.code === "stamp") forgotten();
  throw refusal;
}

/** Called when the program no longer has the results that the page shows: it was started anew. */
let forgotten = () => {};
/** @param {() => void} then */
export const whenForgotten = (then) => { forgotten = then; };

/** @param {Response} response */
async function refusalOf(response) {
  try {
    const told = await response.json();
    if (typeof told.message === "string") return told;
  } catch { /* not JSON: fall through to a sentence of our own */ }
  if (response.status === 401 || response.status === 403) {
    return { code: "key", message: "This page is not known to the program that is running now.", hint: "Open the address that storeyrod printed when it started." };
  }
  return { code: "bug", message: `The program could not do that (${response.status}).`, hint: "What it was is written where storeyrod was started." };
}

/** @param {string} path @param {any} [json] @param {RequestInit} [options] @returns {Promise<any>} */
export async function askJson(path, json, options) {
  return (await ask(path, { json, ...options })).json();
}

/** @param {string} path @param {Record<string, any>} query */
export function withQuery(path, query) {
  const parts = Object.entries(query).filter(([, value]) => value !== undefined && value !== null);
  return `${path}?${new URLSearchParams(parts.map(([k, v]) => [k, String(v)]))}`;
}

/** @param {string} path @param {AbortSignal} [signal] @returns {Promise<ImageBitmap>} */
export async function askImage(path, signal) {
  return createImageBitmap(await (await ask(path, { signal })).blob());
}

/**
 * @template A, R
 * @param {(args: A, signal: AbortSignal) => Promise<R>} run
 * @param {(result: R, args: A) => void} done
 * @param {(problem: Error, args: A) => void} failed
 */
export function latest(run, done, failed) {
  /** @type {A | null} */
  let waiting = null;
  /** @type {AbortController | null} */
  let underWay = null;
  const start = async (/** @type {A} */ args) => {
    const mine = new AbortController();
    underWay = mine;
    try {
      const result = await run(args, mine.signal);
      if (!mine.signal.aborted) done(result, args);
    } catch (problem) {
      if (!mine.signal.aborted) failed(/** @type {Error} */ (problem), args);
    }
    if (underWay !== mine) return;
    underWay = null;
    const next = waiting;
    waiting = null;
    if (next !== null) start(next);
  };
  return {
    /** @param {A} args */
    ask(args) {
      if (underWay) waiting = args;
      else start(args);
    },
    stop() {
      waiting = null;
      underWay?.abort();
      underWay = null;
    },
    get busy() { return underWay !== null; },
  };
}
