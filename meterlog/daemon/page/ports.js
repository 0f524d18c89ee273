// Which port came and which went between two looks: "unplug the one you mean". Pure.

const TAKEN_S = 3; // a service that takes an adapter does so about half a second after it is plugged in

export const HERE = "";
export const GONE = "gone";
export const CAME = "came";
export const TAKEN = "taken";

/**
 * The rows to show after one more look: every port with its `state`, those that went with them.
 * `rows` of the look before, null for the first one; `ports` of this one; `now` in seconds.
 */
export function follow(rows, ports, now) {
  if (rows === null) return ports.map((named) => ({ ...named, state: HERE, since: now }));
  const before = new Map(rows.map((row) => [row.port.device, row]));
  const here = ports.map((named) => stayed(named, before.get(named.port.device), now));
  const names = new Set(ports.map(({ port }) => port.device));
  const came = here.some((row, index) => row.state === CAME && wasAway(before.get(ports[index].port.device)));
  const gone = rows.filter(({ port }) => !names.has(port.device)).map((row) => went(row, now));
  return [...here, ...gone.filter((row) => row.since === now || row.state === TAKEN || !came)];
}

const wasAway = (row) => row === undefined || row.state === GONE || row.state === TAKEN;

function stayed(named, row, now) {
  if (wasAway(row)) return { ...named, state: CAME, since: now };
  return { ...named, state: row.state, since: row.since };
}

function went(row, now) {
  if (wasAway(row)) return row;
  return { ...row, state: row.state === CAME && now - row.since < TAKEN_S ? TAKEN : GONE, since: now };
}
