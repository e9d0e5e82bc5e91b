// Words and numbers as people read them.

export function clock(moment) {
  const when = new Date(moment);
  return Number.isNaN(when.getTime()) ? "" : when.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
}

export function day(iso) {
  const when = new Date(`${iso}T12:00:00Z`);
  return when.toLocaleDateString("en-GB", { weekday: "long", day: "numeric", month: "long", timeZone: "UTC" });
}

export function minutes(count) {
  const whole = Math.round(count);
  const [hours, rest] = [Math.floor(whole / 60), whole % 60];
  if (!hours) return `${rest} min`;
  return rest ? `${hours} h ${String(rest).padStart(2, "0")}` : `${hours} h`;
}

export function many(count, one, more = `${one}s`) {
  return `${count} ${count === 1 ? one : more}`;
}

/** Lengths are whole millimetres inside; 1 in = 25.4 mm exactly (international inch, 1959). */
export function length(mm, units) {
  if (units === "imperial") return `${Math.round(mm / 12.7) / 2} in`;
  return mm < 2000 ? `${Math.round(mm / 10)} cm` : `${(mm / 1000).toFixed(2)} m`;
}

export function toMm(number, units) {
  return units === "imperial" ? Math.round(number * 25.4) : Math.round(number * 10);
}

const SIDES = { left: "left", right: "right" };

/** "arm:2:left" → "arm of tier 2, left" */
export function limb(key) {
  const [kind, one, two] = key.split(":");
  if (kind === "arm") return `arm of tier ${one}, ${SIDES[two] ?? two}`;
  if (kind === "tier") return `both arms of tier ${one}`;
  if (kind === "rib") return `rib ${one}, ${SIDES[two] ?? two}`;
  if (kind === "whole") return "the whole tree";
  return [kind, one, two].filter(Boolean).join(" ");
}

export const KIND_WORDS = {
  done: "Done",
  not_done: "Not done",
  withdraws: "Taken back",
  measured: "Measured",
  seen: "Seen",
  note: "Note",
  material: "Material used",
  extra: "Extra work asked for",
  photo: "Photo",
  started: "Arrived",
  finished: "Visit finished",
  signed: "Signed",
  nobody_home: "Nobody home",
  called_off: "Called off",
};

export const FLAG_WORDS = {
  also_done: "also ticked by somebody else",
  two_answers: "two answers: the office will settle it",
  two_reasons: "two reasons were given",
  far_apart: "measured twice, far apart: the office will settle it",
  clock_off: "this phone's clock is wrong; the time was set right",
  job_gone: "the office had taken this job off; your work is kept on the tree",
  moved_away: "the visit was with another crew by then; the office will look at it",
  after_call_off: "worked after the visit was called off; the office will look at it",
  after_finish: "came after the visit was finished",
  no_undo: "cannot be taken back any more; ring the office",
  unanswered: "a job has no answer yet, so the visit stays open",
  waits_for_phone: "waits for another phone of your crew",
};
