// Spokes by ear: from a recording, or live; those in doubt are plucked again.
const HOW_TO_PLUCK = "Pluck the first spoke twice, then one after the other, forward, about one a second, the microphone a hand's " +
  "breadth from the rim. Back at the first one, pluck it twice again.";

// What is known of the spokes by now: rim hole -> what was heard there.
function heardSpokes() {
  const by_hole = new Map();
  const all = () => [...by_hole.values()];
  return {
    all,
    sure: () => all().filter((each) => each.sure),
    doubtful: () => all().filter((each) => !each.sure).map((each) => each.rim_hole),
    take(spokes) { for (const each of spokes) if (each.sure || !by_hole.has(each.rim_hole)) by_hole.set(each.rim_hole, each); },
    forget: () => by_hole.clear(),
  };
}
const words_of = (each) => `hole ${each.rim_hole}: ${Math.round(each.pitch_hz)} Hz, ${Math.round(each.tension_N)} N`;

function heardTable(spokes, findings) {
  const heard = spokes.filter((each) => each.tension_N);
  const cells = (each) => [each.side, Math.round(each.pitch_hz), Math.round(each.tension_N), each.sure ? "" : "again"];
  const rows = heard.map((each) => make("tr", {}, make("th", { scope: "row" }, `${each.rim_hole}`), ...cells(each).map((cell) => make("td", {}, `${cell}`))));
  const head = ["hole", "side", "Hz", "N", "in doubt"].map((word) => make("th", { scope: "col" }, word));
  const said_of = (noted) => findings.filter((each) => (each.level === "note") === noted).map((each) => finding(`${each.text} ${each.remedy}`, each.level));
  return [
    ...said_of(false),
    strip(Object.fromEntries(heard.map((each) => [each.rim_hole, each.tension_N])), null),
    rows.length ? make("table", {}, make("thead", {}, make("tr", {}, ...head)), make("tbody", {}, ...rows)) : "",
    said_of(true).length ? make("details", {}, make("summary", {}, "How far to trust it"), ...said_of(true)) : "",
  ];
}

function ear() {
  const known = heardSpokes();
  const side = make("select", {}, ...["both", "right", "left"].map((each) => make("option", { value: each }, each)));
  const start = make("input", { inputmode: "numeric", autocomplete: "off", value: "1" });
  const place = make("div");
  for (const each of [side, start]) each.addEventListener("change", () => { known.forget(); place.replaceChildren(); });
  const hear = (sound) => {
    const asked = new URLSearchParams({ side: side.value, start: start.value, only: known.doubtful().join(",") });
    return ask(`hear?${asked}`, wav(sound));
  };
  const result = (found) => {
    known.take(found.spokes);
    const again = known.doubtful(), sure = known.sure();
    place.replaceChildren(
      make("p", {}, again.length ? `Pluck again, in this order: ${again.join(", ")}.` : "Every spoke was heard."),
      ...heardTable(known.all(), found.findings),
      make("div", { class: "row" }, sure.length ? button(`Keep the ${sure.length} sure ones`, () => keep(sure), "main") : ""));
  };
  const listen = button("Listen now", () => { if (listen.stop) listen.stop(); else live(listen, place, hear, known, result); }, "main");
  const fields = [["A recording", {}]];
  if (touched) fields.unshift(["Record now", { capture: true }]);
  show(make("h2", {}, "Tensions by ear"), make("p", {}, HOW_TO_PLUCK),
    make("div", { class: "row" }, make("label", { class: "field" }, "Side", side), make("label", { class: "field" }, "First rim hole", start)),
    mayListen() ? make("div", { class: "row" }, listen) : null,
    ...fields.map(([words, attributes]) => recording(words, attributes, async (sound) => result(await hear(sound)))),
    place, make("div", { class: "row" }, button("Back", home)));
}

// A field for a recording, which a phone fills with its own recorder.
function recording(words, attributes, act) {
  const field = make("input", { type: "file", accept: "audio/*", ...attributes });
  field.addEventListener("change", async () => {
    if (!field.files.length) return;
    said.textContent = "Listening ...";
    try {
      await act(await decoded(field.files[0]));
      said.textContent = "";
    } catch (error) { tell(error); }
    field.value = "";
  });
  return make("label", { class: "field" }, words, field);
}

// The microphone until it is stopped, every spoke was heard, or the screen is left. All of it is heard anew each time, since what
// the whole round tells decides; pauses as long as a hearing took leave half of a processor free.
async function live(listen, place, hear, known, result) {
  let line, found = null, going = true, took = 0;
  listen.stop = () => { going = false; };
  try { line = await microphone(); } catch (error) {
    listen.stop = null;
    return tell(error);
  }
  listen.textContent = "Stop listening";
  for (let last = false; !last && place.isConnected;) {
    for (const until = performance.now() + Math.max(1000, took); going && performance.now() < until;) await pause(100);
    if (!place.isConnected) break;
    last = !going || line.seconds() >= LONGEST; // what sounded until now is heard once more
    try {
      const began = performance.now();
      found = await hear(await line.sound());
      took = performance.now() - began;
      const sure = found.spokes.filter((each) => each.sure);
      if (place.isConnected) place.replaceChildren(...heardTable([...known.sure(), ...found.spokes], found.findings));
      if (place.isConnected) said.textContent = `Heard ${sure.length} of ${found.spokes.length}${sure.length ? `; ${words_of(sure.at(-1))}` : ""}`;
      last ||= sure.length === found.spokes.length;
    } catch (error) { if (place.isConnected) said.textContent = `${Math.round(line.seconds())} s: ${error.message}`; }
  }
  line.stop();
  listen.stop = null;
  listen.textContent = "Listen now";
  if (found && place.isConnected) result(found);
}

async function keep(spokes) {
  const still = want(), number = current();
  try {
    for (const each of spokes) {
      await ask("read", { pass: number, rim_hole: each.rim_hole, column: "pitch_hz", value: Number(each.pitch_hz.toFixed(2)) });
    }
    if (still()) await home();
  } catch (error) { failed(error); }
}
