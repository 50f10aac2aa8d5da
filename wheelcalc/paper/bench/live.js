// The microphone of this machine.
const LONGEST = 240; // s
const REFUSED = {
  NotAllowedError: "The browser may not use the microphone. Allow it for this page, or take a recording.",
  NotFoundError: "No microphone was found. Plug one in, or take a recording.",
};
const mayListen = () => Boolean(navigator.mediaDevices && window.AudioWorkletNode);
async function microphone() {
  const plain = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
  let stream;
  try { stream = await navigator.mediaDevices.getUserMedia({ audio: plain }); }
  catch (error) { throw new Error(REFUSED[error.name] || `The microphone cannot be used (${error.name}). Does another program hold it?`); }
  const context = new AudioContext();
  const pieces = [];
  const stop = () => { stream.getTracks().forEach((track) => track.stop()); context.close(); };
  try {
    await context.audioWorklet.addModule("microphone.js");
    const node = new AudioWorkletNode(context, "microphone", { numberOfOutputs: 0 });
    node.port.onmessage = (message) => pieces.push(message.data);
    context.createMediaStreamSource(stream).connect(node);
    await context.resume();
  } catch (error) { stop(); throw new Error(`The microphone cannot be heard here (${error.name}). Take a recording.`); }
  const seconds = () => pieces.reduce((sum, each) => sum + each.length, 0) / context.sampleRate;
  return { stop, seconds, sound: () => resampled([...pieces], context.sampleRate) };
}
