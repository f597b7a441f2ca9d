// Taking entries with a phone. Each item gets its name when it is taken and is kept in this
// browser until the machine has answered it; the machine stores each name once. So a lost
// connection costs nothing and doubles nothing.
"use strict";

const words = document.body.dataset;
const at = (id) => document.getElementById(id);

// ---------------------------------------------------------------- the queue

const store = new Promise((done, failed) => {
  const asked = indexedDB.open("fieldnote", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore("items", { keyPath: "order", autoIncrement: true });
  asked.onsuccess = () => done(asked.result);
  asked.onerror = () => failed(asked.error);
});

async function items(mode, act) {
  const open = (await store).transaction("items", mode, { durability: "strict" });
  const asked = act(open.objectStore("items"));
  return new Promise((done, failed) => {
    open.oncomplete = () => done(asked.result);
    open.onerror = open.onabort = () => failed(open.error);
  });
}

function name() {
  // crypto.randomUUID is missing in some older browsers.
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

async function keep(blob) {
  try {
    await items("readwrite", (all) => all.add({ item: name(), type: blob.type, blob }));
  } catch (error) {
    return tell([words.full.replace("{reason}", error.message)], "unclear");
  }
  send();
}

let sending = false;

async function send() {
  if (sending) return;
  sending = true;
  try {
    for (;;) {
      const [next] = await items("readonly", (all) => all.getAll(null, 1));
      await count();
      if (!next || !(await sendOne(next))) break;
      await items("readwrite", (all) => all.delete(next.order));
    }
  } finally {
    sending = false;
  }
}

// True when the machine has answered and the item need not be kept any longer.
async function sendOne({ item, type, blob }) {
  let answer, told;
  try {
    answer = await fetch(`/items/${item}`, {
      method: "PUT", body: blob, headers: { "content-type": type, "x-fieldnote-item": item },
    });
    if (answer.status === 403 || answer.status === 421) {
      at("link").textContent = words.locked;
      return false;
    }
    told = await answer.json();
  } catch {
    at("link").textContent = words.away;
    return false;
  }
  tell(told.messages, answer.ok && !told.refused ? told.tone : "unclear", told.spoken);
  if (answer.ok) show(told.step);
  return answer.status < 500;
}

async function count() {
  const waiting = await items("readonly", (all) => all.count());
  at("link").textContent = waiting ? words.waiting.replace("{number}", waiting) : words.sent;
}

addEventListener("online", send);
setInterval(send, 4000);

// ---------------------------------------------------------------- what is told

function tell(messages, tone, spoken) {
  at("last").textContent = messages.join("\n");
  at("last").className = tone ? `is-${tone}` : "";
  if (spoken && at("aloud").checked && "speechSynthesis" in window) {
    const said = new SpeechSynthesisUtterance(spoken);
    said.lang = document.documentElement.lang;
    speechSynthesis.cancel();
    speechSynthesis.speak(said);
  }
}

function show(step) {
  at("step").textContent = step || words.done;
}

// ---------------------------------------------------------------- speaking

const RATE = 16000;
let hearing = null;

async function listen() {
  if (hearing) return;
  hearing = { pieces: [], held: true };
  const mine = hearing;
  at("speak").setAttribute("aria-pressed", "true");
  if ("speechSynthesis" in window) speechSynthesis.cancel();
  try {
    mine.stream = await navigator.mediaDevices.getUserMedia({
      audio: { channelCount: 1, echoCancellation: false, noiseSuppression: false, autoGainControl: true },
    });
    mine.context = new AudioContext({ sampleRate: RATE });
    const source = mine.context.createMediaStreamSource(mine.stream);
    const tap = mine.context.createScriptProcessor(4096, 1, 1);
    tap.onaudioprocess = (event) => mine.pieces.push(event.inputBuffer.getChannelData(0).slice());
    source.connect(tap);
    tap.connect(mine.context.destination);
    if (!mine.held) finish(mine); // let go before the microphone was there
  } catch (error) {
    hearing = null;
    at("speak").setAttribute("aria-pressed", "false");
    tell([words.deaf.replace("{reason}", error.message)], "unclear");
  }
}

function letGo() {
  if (!hearing) return;
  hearing.held = false;
  if (hearing.context) finish(hearing);
}

function finish(mine) {
  hearing = null;
  at("speak").setAttribute("aria-pressed", "false");
  // The last words are still on their way through the buffer.
  setTimeout(() => {
    mine.stream.getTracks().forEach((track) => track.stop());
    mine.context.close();
    const length = mine.pieces.reduce((sum, piece) => sum + piece.length, 0);
    if (length < RATE / 4) tell([words.short], "unclear");
    else keep(wav(mine.pieces, length, mine.context.sampleRate));
  }, 300);
}

function wav(pieces, length, rate) {
  const data = new DataView(new ArrayBuffer(44 + 2 * length));
  const text = (place, letters) => [...letters].forEach((l, i) => data.setUint8(place + i, l.charCodeAt(0)));
  text(0, "RIFF"); data.setUint32(4, 36 + 2 * length, true); text(8, "WAVEfmt ");
  data.setUint32(16, 16, true); data.setUint16(20, 1, true); data.setUint16(22, 1, true);
  data.setUint32(24, rate, true); data.setUint32(28, 2 * rate, true);
  data.setUint16(32, 2, true); data.setUint16(34, 16, true);
  text(36, "data"); data.setUint32(40, 2 * length, true);
  let place = 44;
  for (const piece of pieces) for (const value of piece) {
    data.setInt16(place, Math.max(-1, Math.min(1, value)) * 32767, true);
    place += 2;
  }
  return new Blob([data], { type: "audio/wav" });
}

const speak = at("speak");
speak.setAttribute("aria-pressed", "false");
speak.addEventListener("pointerdown", (event) => { speak.setPointerCapture(event.pointerId); listen(); });
speak.addEventListener("pointerup", letGo);
speak.addEventListener("pointercancel", letGo);
speak.addEventListener("contextmenu", (event) => event.preventDefault());
speak.addEventListener("keydown", (event) => {
  if (event.key === " " && !event.repeat) { event.preventDefault(); listen(); }
});
speak.addEventListener("keyup", (event) => { if (event.key === " ") { event.preventDefault(); letGo(); } });

// ---------------------------------------------------------------- photographing

const finder = at("finder");
const view = at("view");

async function look() {
  try {
    view.srcObject = await navigator.mediaDevices.getUserMedia({
      video: { facingMode: "environment", width: { ideal: 2560 }, height: { ideal: 1440 } },
    });
    await view.play();
    finder.showModal();
  } catch {
    at("file").click(); // the phone's own camera instead
  }
}

function shut() {
  view.srcObject?.getTracks().forEach((track) => track.stop());
  view.srcObject = null;
  if (finder.open) finder.close();
}

at("photo").addEventListener("click", look);
at("cancel").addEventListener("click", shut);
finder.addEventListener("close", shut);
at("shoot").addEventListener("click", () => {
  const sheet = Object.assign(document.createElement("canvas"), { width: view.videoWidth, height: view.videoHeight });
  sheet.getContext("2d").drawImage(view, 0, 0);
  sheet.toBlob((blob) => {
    shut();
    if (blob) keep(blob);
    else tell([words.blind.replace("{reason}", "")], "unclear");
  }, "image/jpeg", 0.92);
});
at("file").addEventListener("change", () => {
  for (const file of at("file").files) keep(file);
  at("file").value = "";
});

// ---------------------------------------------------------------- typing

at("typed").addEventListener("submit", (event) => {
  event.preventDefault();
  const text = at("text").value.trim();
  if (text) keep(new Blob([text], { type: "text/plain" }));
  at("text").value = "";
});

fetch("/state").then((answer) => answer.json()).then(({ step }) => show(step)).catch(() => {});
send();
