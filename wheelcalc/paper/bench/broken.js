// A broken spoke.
function broken() {
  const input = make("input", { inputmode: "numeric", autocomplete: "off" });
  const place = make("div");
  const form = make("form", { onsubmit: async (event) => {
    event.preventDefault();
    const still = want();
    try {
      const found = await ask("broken", { rim_hole: Number.parseInt(input.value, 10) || 0 });
      if (still()) place.replaceChildren(...new DOMParser().parseFromString(found.html, "text/html").body.children);
    } catch (error) { if (still()) tell(error); }
  } }, make("label", { class: "field" }, "Rim hole of the broken spoke", input),
  make("div", { class: "row" }, make("button", { class: "main" }, "What to do"), button("Back", home)));
  show(make("h2", {}, "A spoke has broken"), form, place);
  input.focus();
}
