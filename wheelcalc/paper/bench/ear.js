// Spokes by ear: from a recording, or live; those in doubt are plucked again.
const pause = (ms) => new Promise((done) => { setTimeout(done, ms); });
function ear() {
  const known = new Map(); // rim hole -> what was heard of it
  const side = make("select", {}, ...["both", "right", "left"].map((each) => make("option", { value: each }, each)));
  const start = make("input", { inputmode: "numeric", autocomplete: "off", value: "1" });
  const place = make("div");
  const doubtful = () => [...known.values()].filter((each) => !each.sure).map((each) => each.rim_hole);
  const sure = () => [...known.values()].filter((each) => each.sure);
  let stop = null;
  for (const each of [side, start]) each.addEventListener("change", () => { known.clear(); place.replaceChildren(); });
  const hear = async (sound) => {
    const asked = new URLSearchParams({ side: side.value, start: start.value });
    if (known.size) asked.set("only", doubtful().join(","));
    return ask(`hear?${asked}`, wav(sound));
  };
  const take = (found) => {
    for (const each of found.spokes) if (each.sure || !known.has(each.rim_hole)) known.set(each.rim_hole, each);
  };
  const draw = (spokes, findings = []) => {
    const heard = spokes.filter((each) => each.tension_N);
    const rows = heard.map((each) => make("tr", {}, make("th", { scope: "row" }, `${each.rim_hole}`), make("td", {}, each.side),
      make("td", {}, `${Math.round(each.pitch_hz)}`), make("td", {}, `${Math.round(each.tension_N)}`), make("td", {}, each.sure ? "" : "again")));
    const said_of = (noted) => findings.filter((each) => (each.level === "note") === noted).map((each) => finding(`${each.text} ${each.remedy}`, each.level));
    place.replaceChildren(
      ...said_of(false),
      strip(Object.fromEntries(heard.map((each) => [each.rim_hole, each.tension_N])), null),
      rows.length ? make("table", {}, make("thead", {}, make("tr", {}, ...["hole", "side", "Hz", "N", "in doubt"].map((word) =>
        make("th", { scope: "col" }, word)))), make("tbody", {}, ...rows)) : "",
      said_of(true).length ? make("details", {}, make("summary", {}, "How far to trust it"), ...said_of(true)) : "");
  };
  const result = (findings) => {
    draw([...known.values()], findings);
    const again = doubtful();
    place.prepend(make("p", {}, again.length ? `Pluck again, in this order: ${again.join(", ")}.` : "Every spoke was heard."));
    place.append(make("div", { class: "row" }, sure().length ? button(`Keep the ${sure().length} sure ones`, keep, "main") : ""));
  };
  const keep = async () => {
    try {
      for (const each of sure()) {
        await ask("read", { pass: current(), rim_hole: each.rim_hole, column: "pitch_hz", value: Number(each.pitch_hz.toFixed(2)) });
      }
      home();
    } catch (error) { failed(error); }
  };
  const recorded = (words, attributes) => {
    const field = make("input", { type: "file", accept: "audio/*", ...attributes });
    field.addEventListener("change", async () => {
      if (!field.files.length) return;
      said.textContent = "Listening ...";
      try {
        const found = await hear(await decoded(field.files[0]));
        take(found);
        result(found.findings);
        said.textContent = "";
      } catch (error) { tell(error); }
      field.value = "";
    });
    return make("label", { class: "field" }, words, field);
  };
  const listen = button("Listen now", async () => {
    if (stop) return stop();
    let line, going = true, found = null;
    try { line = await microphone(); } catch (error) { return tell(error); }
    stop = () => { going = false; };
    listen.textContent = "Stop listening";
    while (going && place.isConnected && line.seconds() < LONGEST) {
      await pause(1000);
      try {
        found = await hear(await line.sound());
        draw([...sure(), ...found.spokes], found.findings);
        said.textContent = `Heard ${found.spokes.filter((each) => each.sure).length} of ${found.spokes.length} in ${Math.round(line.seconds())} s.`;
      } catch (error) { said.textContent = `${Math.round(line.seconds())} s: ${error.message}`; }
    }
    line.stop();
    stop = null;
    listen.textContent = "Listen now";
    if (found && place.isConnected) { take(found); result(found.findings); }
  }, "main");
  show(make("h2", {}, "Tensions by ear"),
    make("p", {}, "Pluck the first spoke twice, then one after the other, forward, about one a second, the microphone a hand's breadth from the rim. Back at the first one, pluck it twice again."),
    make("div", { class: "row" }, make("label", { class: "field" }, "Side", side), make("label", { class: "field" }, "First rim hole", start)),
    mayListen() ? make("div", { class: "row" }, listen) : null,
    matchMedia("(pointer: coarse)").matches ? recorded("Record now", { capture: true }) : null,
    recorded("A recording", {}),
    place, make("div", { class: "row" }, button("Back", home)));
}
