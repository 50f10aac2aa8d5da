// Hands on what the microphone hears; it runs beside the page, so that no sound is lost while the page draws.
registerProcessor("microphone", class extends AudioWorkletProcessor {
  process([input]) {
    if (input.length) this.port.postMessage(input[0].slice());
    return true;
  }
});
