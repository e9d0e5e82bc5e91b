// How far this phone's clock is from the office's. The quickest answer of the last hour tells best (after Cristian 1989).

const HOUR = 3_600_000;

/** Learn from one answer: sent and received by our clock, the server's time in it. Gives the offset to keep. */
export function learn(before, sent, received, serverTime) {
  const fresh = {
    offset_s: (new Date(serverTime).getTime() - (sent + received) / 2) / 1000,
    trip_ms: received - sent,
    at: received,
  };
  const isOld = !before || Math.abs(received - before.at) > HOUR;
  const jumped = before && Math.abs(before.offset_s - fresh.offset_s) * 1000 > before.trip_ms + fresh.trip_ms + 2000;
  return isOld || jumped || fresh.trip_ms <= before.trip_ms ? fresh : before;
}

/** This moment with the phone's own distance from UTC: 2027-01-12T10:42:07.120+00:00 */
export function stamp(now = new Date()) {
  const east = -now.getTimezoneOffset();
  const sign = east < 0 ? "-" : "+";
  const pad = (number) => String(Math.trunc(Math.abs(number))).padStart(2, "0");
  const local = new Date(now.getTime() + east * 60_000).toISOString().slice(0, -1);
  return `${local}${sign}${pad(east / 60)}:${pad(Math.abs(east) % 60)}`;
}
