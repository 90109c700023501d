/**
 * One short sound for "saved", and a touch of vibration where the phone has it.
 * @module screens/walk/sound
 */
import { settings } from "../../settings.js";

/** A wooden knock: a low tone that is gone in a tenth of a second. */
const PITCH = 660;
const SECONDS = 0.09;

/** @type {AudioContext | null} */
let audio = null;

/** Gets the sound ready. Phones allow this only within a touch. */
export function readySound() {
  if (audio || settings().sound === "off" || !window.AudioContext) return;
  audio = new AudioContext();
}

/** Sounds "saved", unless the person chose quiet. */
export function soundSaved() {
  if (settings().sound === "off") return;
  navigator.vibrate?.(20);
  if (!audio) return;
  void audio.resume();
  const [tone, volume] = [audio.createOscillator(), audio.createGain()];
  tone.type = "triangle";
  tone.frequency.value = PITCH;
  volume.gain.setValueAtTime(0.25, audio.currentTime);
  volume.gain.exponentialRampToValueAtTime(0.001, audio.currentTime + SECONDS);
  tone.connect(volume).connect(audio.destination);
  tone.start();
  tone.stop(audio.currentTime + SECONDS);
}
