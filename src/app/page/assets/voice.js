// Says sentences aloud, the newest only; can be switched off, and remembers that.

const KEY = "sixfold-voice";

export class Voice {
  #last = "";

  get isOn() {
    return localStorage.getItem(KEY) !== "off";
  }

  set isOn(on) {
    localStorage.setItem(KEY, on ? "on" : "off");
    if (!on) window.speechSynthesis?.cancel();
  }

  get exists() {
    return "speechSynthesis" in window;
  }

  say(words, { again = false } = {}) {
    if (!this.exists || !this.isOn || (words === this.#last && !again)) return;
    this.#last = words;
    window.speechSynthesis.cancel();
    const speech = new SpeechSynthesisUtterance(words);
    speech.lang = "en";
    speech.rate = 0.95;
    window.speechSynthesis.speak(speech);
  }
}
