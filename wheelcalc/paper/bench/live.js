// The microphone of this machine.
const LONGEST = 240; // s
const REFUSED = {
  NotAllowedError: "The browser may not use the microphone. Allow it for this page, or take a recording.",
  NotFoundError: "No microphone was found. Plug one in, or take a recording.",
};
const mayListen = () => Boolean(navigator.mediaDevices && window.AudioWorkletNode);
async function microphone() {
  const plain = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
  const context = new AudioContext();
  const pieces = [];
  let stream;
  const stop = () => { stream?.getTracks().forEach((track) => track.stop()); context.close(); };
  try { // ready before the microphone is open, so that nothing of its sound is missed
    await context.audioWorklet.addModule("microphone.js");
    const node = new AudioWorkletNode(context, "microphone", { numberOfOutputs: 0 });
    node.port.onmessage = (message) => pieces.push(message.data);
    await context.resume();
    stream = await navigator.mediaDevices.getUserMedia({ audio: plain });
    context.createMediaStreamSource(stream).connect(node);
  } catch (error) {
    stop();
    throw new Error(REFUSED[error.name] || `The microphone cannot be used here (${error.name}). Does another program hold it? Else take a recording.`);
  }
  const seconds = () => pieces.reduce((sum, each) => sum + each.length, 0) / context.sampleRate;
  return { stop, seconds, sound: () => resampled([...pieces], context.sampleRate) };
}
