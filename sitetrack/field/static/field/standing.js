// Where an opening stands as this phone knows it: the server's word, with the reports made here and not yet in that
// word laid over it. Only what is certain is laid over: nothing here refuses a report, and the server's fold decides.

const DONE = new Set(["done", "not needed"]);

/**
 * @typedef {{stage: object, state: string, actionable: boolean, awaitsSignature: boolean, reading: string|null,
 *            since: string|number|null, waitsFor: string[], own: object|null}} Line one stage of the ladder
 * @param {object|null} opening as the server sent it
 * @param {object[]} stages of its plan
 * @param {object[]} items reports made here that the server's word does not show yet, oldest first
 * @returns {{lines: Line[], held: boolean}}
 */
export function standingOf(opening, stages, items) {
  const takenBack = new Set(items.filter((item) => item.report.action === "void").map((item) => item.report.about));
  const valid = items.filter((item) => !takenBack.has(item.id) && (item.state === "waiting" || item.state === "sent"));
  const lines = stages.map((stage) => lineOf(stage, opening?.standing?.[stage.code]));
  const byCode = new Map(lines.map((line) => [line.stage.code, line]));
  for (const item of valid) layOver(byCode.get(item.report.stage), item);
  const released = new Set(valid.filter((item) => item.report.action === "release").map((item) => item.report.about));
  const heldHere = valid.some((item) => item.report.action === "hold" && !released.has(item.id));
  const held = heldHere || (Boolean(opening?.held) && !released.size);
  for (const line of lines) {
    line.waitsFor = blockers(line.stage, byCode);
    if (valid.length) workOutReady(line, held);
  }
  return { lines, held };
}

/** Stages of a ladder that this person may take in hand now: to do by their trade, or to sign by their role. */
export function mineToDo(lines, { trades, role }) {
  return lines.filter((line) => {
    if (line.awaitsSignature && (line.stage.sign_roles ?? []).includes(role)) return true;
    return line.actionable && !line.awaitsSignature && doesStage(line.stage, { trades, role });
  });
}

/** What to look for on a floor: every stage that this person does or signs. */
export function wantedStages(plans, who) {
  const wanted = new Map();
  for (const stage of plans.flatMap((plan) => plan.stages)) {
    if (doesStage(stage, who)) wanted.set(`${stage.code} do`, { stage: stage.code, what: "do" });
    if ((stage.sign_roles ?? []).includes(who.role)) {
      wanted.set(`${stage.code} sign`, { stage: stage.code, what: "sign" });
    }
  }
  return [...wanted.values()];
}

/** Whether the stage is work of one of the person's trades, or one that their role reads. */
export function doesStage(stage, { trades, role }) {
  if (role === "viewer") return false;
  return (trades ?? []).includes(stage.trade) || stage.trade === role;
}

function lineOf(stage, known) {
  return {
    stage,
    state: known?.state ?? "waiting",
    actionable: known?.actionable ?? false,
    awaitsSignature: known?.awaits_signature ?? false,
    reading: known?.reading ?? null,
    since: known?.since ?? null,
    waitsFor: [],
    own: null,
  };
}

function layOver(line, item) {
  if (!line) return;
  const { action, about } = item.report;
  if (action === "note" || action === "release" || action === "void") return;
  line.own = item;
  line.since = item.madeAt;
  if (action === "start") line.state = "underway";
  if (action === "fail") Object.assign(line, { state: "failed", awaitsSignature: false });
  if (action === "sign" && about === line.reading) Object.assign(line, { state: "done", awaitsSignature: false });
  if (action === "finish") finish(line, item);
}

function finish(line, item) {
  if (line.stage.kind !== "check") line.state = "done";
  else {
    // The verdict of this phone is a preview; the server's own comes with the answer.
    const verdict = item.verdict?.verdict ?? item.preview ?? "incomplete";
    const signed = (line.stage.sign_roles ?? []).length > 0;
    line.reading = item.id;
    line.awaitsSignature = verdict === "pass" && signed;
    line.state = { pass: signed ? "underway" : "done", fail: "failed" }[verdict] ?? "underway";
  }
}

function workOutReady(line, held) {
  const free = !line.waitsFor.length;
  line.actionable = free && !held && !DONE.has(line.state);
  // A hold released here: whether work had been begun before it the server will say.
  if (line.state === "held" && !held) line.state = free ? "ready" : "waiting";
  if (line.state === "waiting" && free) line.state = "ready";
  if (held && ["ready", "underway"].includes(line.state)) line.state = "held";
}

// What must still be done before a stage: through a stage that this opening does not need, what that one waits for.
function blockers(stage, byCode) {
  const blocking = [];
  for (const code of stage.after ?? []) {
    const before = byCode.get(code);
    if (!before) continue;
    if (before.state === "not needed") blocking.push(...blockers(before.stage, byCode));
    else if (before.state !== "done") blocking.push(code);
  }
  return [...new Set(blocking)];
}
