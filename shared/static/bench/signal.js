// Right and wrong for the ear and the hand: one short high tone, or two long low ones; and the same as shaking.

const KEPT = "sawbuck-sound";

let audio = null;
let on = localStorage.getItem(KEPT) !== "off";

// A browser lets a page sound only after it was touched.
const awake = () => {
  audio ??= new AudioContext();
  audio.resume();
};
document.addEventListener("pointerdown", awake);
document.addEventListener("keydown", awake);

const tone = (hertz, from, seconds) => {
  if (!on || audio?.state !== "running") return;
  const oscillator = audio.createOscillator();
  const loudness = audio.createGain();
  const begin = audio.currentTime + from;
  oscillator.frequency.value = hertz;
  loudness.gain.setValueAtTime(0.25, begin);
  loudness.gain.exponentialRampToValueAtTime(0.001, begin + seconds);
  oscillator.connect(loudness).connect(audio.destination);
  oscillator.start(begin);
  oscillator.stop(begin + seconds);
};

export const signal = {
  right() {
    tone(1320, 0, 0.12);
    navigator.vibrate?.(60);
  },
  wrong() {
    tone(220, 0, 0.22);
    tone(220, 0.3, 0.22);
    navigator.vibrate?.([140, 90, 140]);
  },
  toggle() {
    on = !on;
    localStorage.setItem(KEPT, on ? "on" : "off");
    return on;
  },
  get isOn() {
    return on;
  },
};
