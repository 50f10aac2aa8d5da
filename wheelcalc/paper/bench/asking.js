// Speaking with the program, which computes everything.
const token = new URLSearchParams(location.search).get("t") || "";
async function ask(path, body) {
  const sound = body instanceof Blob;
  const options = body === undefined ? {} : { method: "POST", body: sound ? body : JSON.stringify(body) };
  options.headers = { "X-Token": token };
  let answer;
  try { answer = await fetch(path, options); }
  catch { throw new Error("The program does not answer. Is it still running? What was saved is in the log."); }
  const found = await answer.json();
  if (!answer.ok) throw Object.assign(new Error(found.error), { status: answer.status });
  return found;
}
