// Fetching the round.

/** Ask for the round; null if this phone has it already. */
export async function fetchPack(post, store) {
  const have = await store.pack();
  const body = { phone: store.phone, version: have?.version ?? "", drawings: await store.drawings() };
  const answer = await post("/field/pack", body, { timeout: 60_000 });
  if (!answer.pack) return null;
  await store.keepPack(answer.pack);
  return store.pack();
}

/** Have the pictures of the round at hand before the signal goes. */
export function fetchPictures(pack) {
  const wanted = pack.stops.flatMap((stop) => stop.trees).filter((tree) => tree.photo);
  return Promise.allSettled(wanted.map((tree) => fetch(`/field/pictures/${tree.photo.uid}`)));
}
