// Plucks from a recording.
function listen() {
  const field = make("input", { type: "file", accept: "audio/*", capture: true, "aria-label": "Recording" });
  const place = make("div");
  field.addEventListener("change", async () => {
    said.textContent = "Listening ...";
    try {
      const found = await ask("hear", await wav(field.files[0]));
      const sure = found.plucks.filter((each) => each.rim_hole && each.tension_N && each.confidence >= 0.9 && (each.assigned ?? 0) >= 0.9);
      const rows = found.plucks.map((each) => make("li", {},
        `${each.at_s.toFixed(1)} s: ${each.pitch_hz ? `${Math.round(each.pitch_hz)} Hz` : "no clear note"}, ` +
        `${each.rim_hole ? `hole ${each.rim_hole}` : "hole unknown"}, ${each.tension_N ? `${Math.round(each.tension_N)} N` : "-"}` +
        (sure.includes(each) ? "" : " - pluck again")));
      place.replaceChildren(
        ...found.findings.map((each) => make("div", { class: `finding ${each.level}` }, `${each.text} ${each.remedy}`)),
        make("ul", {}, ...rows),
        button(`Keep ${sure.length} sure ones`, async () => {
          for (const each of sure) await ask("read", { pass: current(), rim_hole: each.rim_hole, column: "tension_N", value: each.tension_N });
          home();
        }, "main"));
      said.textContent = "";
    } catch (error) { tell(error); }
  });
  show(make("h2", {}, "Listen to a recording"), make("p", {}, "Pluck each spoke in turn from the valve on, half a second apart."), field, place,
    make("div", { class: "row" }, button("Back", home)));
}
async function wav(file) {
  const context = new AudioContext();
  let sound;
  try { sound = await context.decodeAudioData(await file.arrayBuffer()); }
  catch { throw new Error("This browser cannot read that recording; record it anew, or as WAV."); }
  const samples = sound.getChannelData(0), out = new DataView(new ArrayBuffer(44 + 2 * samples.length));
  const letters = (at, text) => [...text].forEach((letter, i) => out.setUint8(at + i, letter.charCodeAt(0)));
  letters(0, "RIFF"); out.setUint32(4, 36 + 2 * samples.length, true); letters(8, "WAVEfmt ");
  out.setUint32(16, 16, true); out.setUint16(20, 1, true); out.setUint16(22, 1, true);
  out.setUint32(24, sound.sampleRate, true); out.setUint32(28, 2 * sound.sampleRate, true);
  out.setUint16(32, 2, true); out.setUint16(34, 16, true); letters(36, "data"); out.setUint32(40, 2 * samples.length, true);
  samples.forEach((value, i) => out.setInt16(44 + 2 * i, 32767 * Math.max(-1, Math.min(1, value)), true));
  return new Blob([out], { type: "audio/wav" });
}
