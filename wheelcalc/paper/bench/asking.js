// Speaking with the program, which computes everything.
const token = new URLSearchParams(location.search).get("t") || "";
let queue = Promise.resolve();
function ask(path, body) { // one after the other: no answer is older than what is shown
  const answer = queue.then(() => sent(path, body));
  queue = answer.catch(() => {});
  return answer;
}
const PATIENCE = 60_000, PATIENCE_SOUND = 300_000; // ms
async function sent(path, body) {
  const sound = body instanceof Blob;
  const options = body === undefined ? {} : { method: "POST", body: sound ? body : JSON.stringify(body) };
  options.headers = { "X-Token": token };
  options.signal = AbortSignal.timeout(sound ? PATIENCE_SOUND : PATIENCE);
  let answer, found;
  try {
    answer = await fetch(path, options);
    found = await answer.json();
  } catch { throw new Error("The program does not answer. Is it still running? What was saved is in the log."); }
  await lifted();
  if (!answer.ok) throw Object.assign(new Error(found.error), { status: answer.status });
  return found;
}
