// Asking the server. Every answer comes back as a plain value, a lost connection too: what a phone in a stairwell meets
// most often is no exception.

const PATIENCE_MS = 60_000;
const MIME = "application/json";

/**
 * @typedef {object} Answer
 * @property {number} status 0 where no answer of the server came
 * @property {any} data the JSON of the answer, or null
 * @property {number|null} retryAfterMs how long the server asks to wait
 */

/**
 * Makes a caller of the API.
 * @param {string} base address of the API, ending in a stroke
 * @param {() => string|null} token
 * @param {() => string} language asked for in answers
 */
export function makeApi(base, token, language) {
  /** @returns {Promise<Answer>} */
  async function ask(path, { method = "GET", body = undefined, type = MIME } = {}) {
    const headers = { Accept: `${MIME}, application/problem+json`, "Accept-Language": language() };
    if (body !== undefined) headers["Content-Type"] = type;
    if (token()) headers.Authorization = `Bearer ${token()}`;
    const patience = new AbortController();
    const timer = setTimeout(() => patience.abort(), PATIENCE_MS);
    try {
      const answer = await fetch(base + path, {
        method, body, headers, credentials: "omit", cache: "no-store", signal: patience.signal,
      });
      return { status: answer.status, data: await jsonOf(answer), retryAfterMs: retryAfter(answer, Date.now()) };
    } catch {
      return { status: 0, data: null, retryAfterMs: null };
    } finally {
      clearTimeout(timer);
    }
  }

  return {
    push: (body) => ask("sync/push", { method: "POST", body }),
    pull: (site, cursor, limit) => ask(`sync/pull?${new URLSearchParams({ site, ...(cursor && { cursor }), limit })}`),
    photo: (sha, bytes, type) => ask(`photos/${sha}`, { method: "PUT", body: bytes, type }),
    enrol: (code, name) => ask("devices/enrol", { method: "POST", body: JSON.stringify({ code, name }) }),
  };
}

/**
 * What an answer means for what was sent:
 * "ok"; "no_signal" (nobody answered, or somebody in between did); "away" (the server can't just now); "wait" (it asks
 * for time); "stumbled" (it broke on this very content, perhaps); "refused" (this content can't be taken); "forbidden"
 * (this person can't send here); "enrol" (the token is gone); "update" (this app is too old).
 */
export function meaning({ status, data, retryAfterMs }) {
  if (status >= 200 && status < 300) return data === null && status !== 204 ? "no_signal" : "ok";
  if (status < 400) return "no_signal";
  if (status === 429 || retryAfterMs !== null) return "wait";
  return { 400: "refused", 401: "enrol", 403: "forbidden", 413: "refused", 415: "refused", 422: "refused",
           426: "update", 500: "stumbled" }[status] ?? "away";
}

/** The server's words on why not, or null where it had none. */
export function problemOf(answer) {
  const { data, status } = answer;
  if (data && typeof data.detail === "string") return data;
  return status ? { title: "", detail: `HTTP ${status}`, status } : null;
}

async function jsonOf(answer) {
  if (!(answer.headers.get("Content-Type") ?? "").includes("json")) return null;
  return answer.json();
}

/** Retry-After in milliseconds: seconds or a date (RFC 9110, section 10.2.3); null where there is none. */
export function retryAfter(answer, now) {
  const told = answer.headers.get("Retry-After");
  if (!told) return null;
  if (/^\d+$/.test(told.trim())) return Number(told) * 1000;
  const date = Date.parse(told);
  return Number.isNaN(date) ? null : Math.max(0, date - now);
}
