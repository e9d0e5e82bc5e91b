// What the screen shows: the round as it came, with this phone's own acts folded in. The same rules as on the server
// (scheduling/merging/answers.py), so that the picture does not change when the office answers.

const WEIGHT = ["unsafe", "lost", "no_access", "weather", "not_ready", "no_time", "not_needed", "other"];

/** How a job stands: {state, answer, others, mine, place}. */
export function standing(task, acts) {
  const gone = new Set(task.gone);
  const said = new Map(task.answers.map((answer) => [answer.id, { ...answer, place: "office" }]));
  for (const act of acts) {
    if (act.kind === "withdraws") gone.add(act.withdraws);
    if (act.task !== task.id || !["done", "not_done"].includes(act.kind)) continue;
    if (act.receipt?.result === "refused" && act.settled) continue;
    said.set(act.id, { id: act.id, kind: act.kind, at: act.at, by: "you", value: act.value, place: placeOf(act), mine: true });
  }
  const counted = [...said.values()].filter((answer) => !gone.has(answer.id));
  counted.sort((one, two) => new Date(one.at) - new Date(two.at) || (one.id < two.id ? -1 : 1));
  const done = counted.filter((answer) => answer.kind === "done");
  const left = counted.filter((answer) => answer.kind === "not_done");
  left.sort((one, two) => WEIGHT.indexOf(one.value.reason) - WEIGHT.indexOf(two.value.reason));
  const answer = done[0] ?? left[0] ?? null;
  const others = counted.filter((one) => one !== answer);
  const own = new Set(acts.map((act) => act.id));
  return {
    state: answer?.kind ?? "open",
    answer,
    others,
    mine: counted.filter((one) => own.has(one.id)).map((one) => one.id),
    isTwo: done.length > 0 && left.length > 0,
  };
}

export function placeOf(act) {
  if (!act.receipt) return "phone";
  return act.receipt.result === "refused" ? "refused" : "office";
}

/** The acts of a stop that are not answers, own ones and those that came with the round, without what was taken back. */
export function others(stop, acts) {
  const gone = new Set(acts.filter((act) => act.kind === "withdraws").map((act) => act.withdraws));
  const found = new Map(stop.said.map((act) => [act.id, { ...act, place: "office" }]));
  for (const act of acts) {
    if (act.visit !== stop.id || ["done", "not_done", "withdraws"].includes(act.kind)) continue;
    found.set(act.id, { ...act, by: "you", place: placeOf(act), mine: true });
  }
  return [...found.values()].filter((act) => !gone.has(act.id));
}

/** How far a stop is: {state, jobs, answered, startedAt}. */
export function progress(stop, acts) {
  const tasks = stop.trees.flatMap((tree) => tree.tasks);
  const answered = tasks.filter((task) => standing(task, acts).state !== "open").length;
  const said = others(stop, acts);
  const started = said.find((act) => act.kind === "started");
  const closed = said.find((act) => act.kind === "finished" || act.kind === "called_off");
  let state = stop.state === "finished" ? "finished" : started || stop.state === "started" ? "started" : "planned";
  if (closed && !(closed.mine && closed.place === "refused")) state = closed.kind;
  return { state, jobs: tasks.length, answered, startedAt: started?.at ?? null };
}
