// Sound as the program takes it: mono, 16 bit, so many samples a second, in a WAV.
const RATE = 24000; // a spoke's partials are below a third of it
const LARGEST_RECORDING = 60e6; // bytes
async function decoded(file) {
  if (file.size > LARGEST_RECORDING) throw new Error("That file is over 60 MB; record one side of the wheel at a time.");
  try { return await new OfflineAudioContext(1, 1, RATE).decodeAudioData(await file.arrayBuffer()); }
  catch { throw new Error("This browser cannot read that recording; record it anew as m4a, mp3, ogg or WAV."); }
}
async function resampled(pieces, rate) {
  const length = pieces.reduce((sum, each) => sum + each.length, 0);
  const context = new OfflineAudioContext(1, Math.max(1, Math.ceil((length * RATE) / rate)), RATE);
  const sound = new AudioBuffer({ length: Math.max(1, length), sampleRate: rate });
  let at = 0;
  for (const each of pieces) { sound.copyToChannel(each, 0, at); at += each.length; }
  const source = new AudioBufferSourceNode(context, { buffer: sound });
  source.connect(context.destination);
  source.start();
  return context.startRendering();
}
function wav(sound) {
  const channels = Array.from({ length: sound.numberOfChannels }, (_, i) => sound.getChannelData(i));
  const power = (samples) => samples.reduce((sum, value) => sum + value * value, 0);
  const samples = channels.length < 2 ? channels[0] : channels.sort((one, other) => power(other) - power(one))[0];
  const most = samples.reduce((largest, value) => Math.max(largest, Math.abs(value)), 1); // a decoder may go beyond 1
  const out = new DataView(new ArrayBuffer(44 + 2 * samples.length));
  const letters = (at, text) => [...text].forEach((letter, i) => out.setUint8(at + i, letter.charCodeAt(0)));
  letters(0, "RIFF"); out.setUint32(4, 36 + 2 * samples.length, true); letters(8, "WAVEfmt ");
  out.setUint32(16, 16, true); out.setUint16(20, 1, true); out.setUint16(22, 1, true);
  out.setUint32(24, sound.sampleRate, true); out.setUint32(28, 2 * sound.sampleRate, true);
  out.setUint16(32, 2, true); out.setUint16(34, 16, true); letters(36, "data"); out.setUint32(40, 2 * samples.length, true);
  samples.forEach((value, i) => out.setInt16(44 + 2 * i, Math.round((32767 * value) / most), true));
  return new Blob([out], { type: "audio/wav" });
}
