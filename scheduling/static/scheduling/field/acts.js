// Making acts: the facts a crew states, each with an identity that lasts.

import { stamp } from "./clock.js";

export const SCHEMA = 1;

/** One act, complete but for its number. The job goes along as the screen showed it, in case the office takes it off. */
export function makeAct({ kind, stop, tree = null, task = null, value = {}, more = {} }, { person, clock, pack }) {
  const job = task
    ? { tree: tree?.id ?? null, kind: task.kind, limb: task.limb, at_mm: task.at_mm, to_angle_deg: task.to_angle_deg, need: task.need }
    : {};
  return {
    id: crypto.randomUUID(),
    schema: SCHEMA,
    person,
    visit: stop.id,
    kind,
    task: task?.id ?? null,
    tree: task ? null : (tree?.id ?? null),
    at: stamp(),
    offset_s: clock?.offset_s ?? null,
    offset_age_s: clock ? Math.round((Date.now() - clock.at) / 1000) : null,
    pack_at: pack?.made_at ?? null,
    pack_version: pack?.version ?? null,
    value,
    job,
    ...more,
    receipt: null,
  };
}

/** The act as it travels: what the phone keeps for itself stays behind. */
export function asSent({ receipt, receivedAt, settled, ...act }) {
  return act;
}
