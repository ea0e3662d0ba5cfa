// The bench, beyond its forms: what the meter says, takes by key, foot and by
// themselves, and a queue of those that aren't kept yet. The server decides what
// a reading is; nothing counts as taken here until it has answered.
import { newKey, refresh, send, swap } from "./app.js";
import { figure, said } from "./said.js";

const $ = (id) => document.getElementById(id);
const bench = () => $("bench");
const facts = () => $("benchfacts").dataset;
const store = {
	get(name) { try { return localStorage.getItem(name); } catch { return null; } },
	set(name, value) { try { localStorage.setItem(name, value); } catch { /* private or full: it is still in memory */ } },
	drop(name) { try { localStorage.removeItem(name); } catch { /* likewise */ } },
	names(start) { try { return Object.keys(localStorage).filter((n) => n.startsWith(start)).sort(); } catch { return []; } },
};

// What the meter says.

// As the server wrote it into the page, until something is heard.
let meter = bench() ? JSON.parse(bench().dataset.meter) : null;
let kinds = bench() ? facts().marks + facts().gives : ""; // what this page's fields are in
let typedMode = null; // as it was shown last
let passed = ""; // the spell that isn't taken by itself any more
let begun = false; // a spell that stood before this page listened isn't taken by itself

const fits = () => meter && (!meter.name || meter.unit === facts().unit);
const reading = () => meter && meter.name && meter.state === "reading" && fits();
const spellName = () => (meter && meter.spell ? `spell-${meter.name}-${meter.run}-${meter.spell}` : "");

// words are what stands in the place of a figure.
function words() {
	if (!fits()) return said("The meter reads {1}, and this bench reads {2}. Set the meter to that.", meter.unit, facts().figures);
	return meter.words || said("The meter gives no value.");
}

// valueNow is what Take takes: what was typed, or else what the meter says.
function valueNow() {
	const typed = $("ohm").value.trim();
	const unit = facts().unit;
	if (typed) return { ohm: typed, from: "typed", text: withUnit(typed, unit) };
	if (!reading()) return null;
	const text = meter.spell ? meter.steady : meter.text;
	return { ohm: text, from: "meter", text: `${figure(text)} ${unit}` };
}

// withUnit puts the unit behind a bare number, with U+00A0 between.
const withUnit = (text, unit) => (/^[\d.,/]+$/.test(text) ? `${figure(text)}\u00a0${unit}` : text);

function showMeter() {
	if (!bench() || !meter) return;
	const form = $("take");
	const typed = !meter.name;
	form.dataset.mode = typed ? "typed" : "meter";
	$("from").value = typed ? "typed" : "meter";
	$("live").hidden = typed;
	if (typed !== typedMode) {
		$("typing").open = typed || $("ohm").value !== "";
		typedMode = typed;
	}
	if (!typed) {
		const says = reading();
		const shown = $("ohms");
		if (says) shown.replaceChildren(`${figure(meter.text)} `, Object.assign(document.createElement("small"), { textContent: meter.unit }));
		else if (shown.textContent !== words()) shown.textContent = words();
		shown.parentElement.classList.toggle("nothing", !says);
		shown.parentElement.classList.toggle("long", says && meter.text.length > 5);
		const state = !says ? "" : meter.spell ? said("stands still") : said("moving");
		const still = $("still");
		still.classList.toggle("stands", Boolean(says && meter.spell));
		const name = Object.assign(document.createElement("span"), { className: "metername", textContent: meter.name });
		if (still.dataset.state !== state + meter.name) { still.dataset.state = state + meter.name; still.replaceChildren(state + " ", name); }
	}
	showTake();
}

function showTake() {
	const button = $("takebutton");
	if (!button) return;
	const value = valueNow();
	const mark = $("mark").value.trim();
	button.disabled = meter !== null && !!meter.name && !value;
	const says = !value ? "" : mark ? said("{1} at {2}", value.text, withUnit(mark, facts().markUnit)) : value.text;
	if ($("takes").textContent !== says) $("takes").textContent = says;
}

document.addEventListener("meter", (event) => {
	meter = event.detail;
	if (!bench()) return;
	showMeter();
	if (!begun) { begun = true; passed = spellName() || passed; return; }
	const spell = spellName();
	if (!$("auto").checked || !spell || spell === passed || store.get(`gw-spell ${path()}`) === spell || !reading() || $("ohm").value.trim()) return;
	if (queue.length) { passed = spell; tell(said("Nothing is taken by itself until the reading before is kept, as the mark isn’t sure. Take still takes.")); return; }
	take(`${spell}-${facts().tank}`);
});
// A value heard before the line broke may be another by now.
document.addEventListener("line", (event) => {
	if (event.detail || !meter || !meter.name) return;
	meter = { ...meter, state: "away", text: "", spell: 0, words: said("The program doesn’t answer, so what the meter says isn’t known. Ohms can be typed.") };
	showMeter();
});
document.addEventListener("visibilitychange", () => { begun = false; stayAwake(); });

// The mark to go to: the one that is suggested, or the fitter's own.

const path = () => facts().path;
let own = new URLSearchParams(location.search).has("mark");

function stay() {
	const asked = new URLSearchParams();
	asked.set("sweep", way());
	if (own) asked.set("mark", $("mark").value.trim());
	history.replaceState(null, "", `${location.pathname}?${asked}`);
}
const way = () => $("take").elements.namedItem("sweep").value;
function setWay(sweep) {
	for (const radio of $("take").querySelectorAll("[name=sweep]")) radio.checked = radio.value === sweep;
}
function suggested() {
	if (!bench() || own) return;
	const { mark, sweep } = $("next").dataset;
	const wanted = turning;
	turning = "";
	if (wanted && sweep !== wanted) { setWay(wanted); goElsewhere(); return; } // the fitter's word stands
	if (mark) $("mark").value = mark;
	if (sweep) setWay(sweep);
	showTake();
}
let turning = ""; // the direction that the fitter has just chosen
let drawing = 0;
function goElsewhere(mark) {
	if (mark !== undefined) $("mark").value = mark;
	own = true;
	stay();
	showTake();
	clearTimeout(drawing);
	drawing = setTimeout(refresh, 200); // the column is drawn by the server
}
function stepped(direction) {
	const { low, high, step } = facts();
	const by = Number(step), from = Number(low), to = high === "" ? Infinity : Number(high);
	const here = Number($("mark").value.trim().replace(",", "."));
	if (Number.isNaN(here)) return;
	const n = direction > 0 ? Math.floor((here - from) / by + 1e-9) + 1 : Math.ceil((here - from) / by - 1e-9) - 1;
	const mark = Math.min(to, Math.max(from, from + n * by));
	goElsewhere(String(Math.round(mark * 1000) / 1000));
}

// Taking.

const queue = []; // in the order taken
let busy = false;
let pressed = -Infinity;

function take(key) {
	const value = valueNow();
	const mark = $("mark").value.trim();
	if (!mark) { tell(said("Say at which mark first.")); $("mark").focus(); return; }
	if (!value) { tell(meter && meter.name ? said("Nothing was taken: the meter gives no value.") : said("Type the {1} first.", facts().figures)); if (!meter || !meter.name) $("ohm").focus(); return; }
	const now = performance.now();
	if (!key && value.from === "meter" && now - pressed < 300) return; // a foot switch bounces
	pressed = now;
	const spell = value.from === "meter" ? spellName() : "";
	if (spell) { passed = spell; store.set(`gw-spell ${path()}`, spell); }
	const item = {
		key: key || newKey(), tank: facts().tank, mark, sweep: way(), ohm: value.ohm, from: value.from, marks: facts().marks, gives: facts().gives,
		at: new Date().toISOString(), path: $("take").action, name: "",
		text: `${withUnit(mark, facts().markUnit)}, ${value.text}`,
	};
	item.name = `gw-untaken ${path()} ${item.at} ${item.key}`;
	store.set(item.name, JSON.stringify(item));
	queue.push(item);
	$("ohm").value = "";
	if (!reading()) showTake();
	own = false;
	showQueue();
	pump();
}

// pump sends what isn't kept, one after the other.
async function pump() {
	if (busy) return;
	busy = true;
	for (let item; (item = queue.find((q) => !q.refused)); ) {
		const data = new URLSearchParams({ key: item.key, tank: item.tank, mark: item.mark, sweep: item.sweep, ohm: item.ohm, from: item.from, marks: item.marks || "", gives: item.gives || "" });
		// What can't be sent at once says when it was taken.
		if (item.late) data.set("seen", item.at);
		const late = setTimeout(() => { data.set("seen", item.at); onward(item); }, 1000);
		const answer = await send({ action: item.path }, data);
		clearTimeout(late);
		const { text } = answer;
		const there = new URL(answer.url);
		if (there.pathname === "/sign-in") break; // it is sent once someone signed in
		if (answer.ok) {
			drop(item);
			const already = there.searchParams.get("said") === "already";
			if (there.pathname === location.pathname && !own) { there.searchParams.delete("said"); history.replaceState(null, "", there.pathname + there.search); }
			swap(text);
			took(item, already && item.key.startsWith("spell-"));
			continue;
		}
		const words = new DOMParser().parseFromString(text, "text/html").querySelector("main .fault, main .lead");
		item.refused = words ? words.textContent : said("The program refuses it.");
		store.set(item.name, JSON.stringify(item));
		showQueue();
		tell(said("Not taken: {1}. {2}", item.text, item.refused));
	}
	busy = false;
}

// onward goes one mark on while the server can't say which comes next.
function onward(item) {
	if (!bench() || own || $("mark").value !== item.mark) return;
	const here = Number(item.mark), ladder = facts().ladder.split(" ").filter(Boolean).map(Number);
	const next = item.sweep === "down" ? ladder.filter((m) => m < here).pop() : ladder.find((m) => m > here);
	const says = next === undefined ? said("the end of the marks") : withUnit(String(next), facts().markUnit);
	if (next !== undefined) $("mark").value = String(next);
	const line = document.createElement("p");
	line.textContent = said("Next, as far as this page can tell: {1}.", says);
	$("next").replaceChildren(line);
	showTake();
}

function drop(item) {
	queue.splice(queue.indexOf(item), 1);
	store.drop(item.name);
	showQueue();
}

function tell(text, more) {
	const line = $("said");
	if (!line) return;
	line.textContent = text;
	if (more) line.append(Object.assign(document.createElement("span"), { className: "unseen", textContent: ` ${more}` }));
}

let flash = 0;
function took(item, already) {
	const doubt = $("doubtful")?.textContent.trim();
	tell(already ? said("Taken already, on another page: {1}", item.text) : said("Taken: {1}", item.text), doubt);
	const form = $("take");
	if (already || !form) return; // or another page stands here by now
	form.classList.remove("took");
	void form.offsetWidth; // begins the flash anew
	form.classList.add("took");
	clearTimeout(flash);
	flash = setTimeout(() => $("take")?.classList.remove("took"), 900);
	if ($("sound").checked) beep(doubt ? 330 : 880);
}

// showQueue lists what isn't kept yet, the newest first like the strip.
function showQueue() {
	const list = $("pending");
	if (!list) return;
	list.hidden = queue.length === 0;
	list.replaceChildren(...[...queue].reverse().map((item) => {
		const line = document.createElement("li");
		line.append(Object.assign(document.createElement("b"), { textContent: item.text }), item.refused ? said("not taken") : said("not kept yet"));
		if (item.refused) {
			const again = Object.assign(document.createElement("button"), { type: "button", textContent: said("Back into the fields") });
			again.addEventListener("click", () => {
				$("typing").open = true;
				$("ohm").value = item.ohm;
				setWay(item.sweep);
				goElsewhere(item.mark);
				drop(item);
				$("ohm").focus();
			});
			const away = Object.assign(document.createElement("button"), { type: "button", textContent: said("Throw it away") });
			away.addEventListener("click", () => { drop(item); tell(said("Thrown away: {1}", item.text)); });
			line.append(Object.assign(document.createElement("p"), { textContent: item.refused }), again, away);
		}
		return line;
	}));
}

// What a page before this one couldn't send.
function resume() {
	for (const name of store.names(`gw-untaken ${path()} `)) {
		try {
			const item = JSON.parse(store.get(name));
			if (!queue.some((q) => q.key === item.key)) queue.push({ ...item, name, late: true });
		} catch { store.drop(name); }
	}
	showQueue();
	pump();
}

let sounds = null;
function beep(pitch) {
	try {
		sounds ||= new AudioContext();
		const tone = sounds.createOscillator(), loud = sounds.createGain();
		tone.frequency.value = pitch;
		loud.gain.setValueAtTime(0.2, sounds.currentTime);
		loud.gain.exponentialRampToValueAtTime(0.001, sounds.currentTime + 0.18);
		tone.connect(loud).connect(sounds.destination);
		tone.start();
		tone.stop(sounds.currentTime + 0.2);
	} catch { /* no sound here: it is seen as well */ }
}

// Keys. A foot switch is a keyboard of one key.

const takeKeys = new Set([" ", "Enter", "PageDown", "b", "B", "F2", "F4", "F8", "F9", "MediaPlayPause", "MediaTrackNext", "MediaTrackPrevious", "MediaStop"]);
for (let n = 13; n <= 24; n++) takeKeys.add(`F${n}`);
// Keys that a browser or a screen reader can't do without.
const never = new Set(["Tab", "Escape", "Shift", "Control", "Alt", "Meta", "CapsLock", "NumLock", "Insert", "F1", "F3", "F5", "F6", "F7", "F10", "F11", "F12", "ContextMenu",
	"ArrowUp", "ArrowDown", "ArrowLeft", "ArrowRight", "Home", "End", "Backspace", "Delete", "Dead", "Process", "Unidentified"]);
const keyName = (key) => (key === " " ? said("Space") : key);
let learning = false;

function free() {
	const here = document.activeElement;
	return !here || here === document.body || here === document.documentElement || here.id === "main";
}

document.addEventListener("keydown", (event) => {
	if (!bench() || event.ctrlKey || event.altKey || event.metaKey || event.isComposing) return;
	const { key } = event;
	const here = document.activeElement;
	if (learning) { learn(event); return; }
	if (key === "Escape" && here && here.matches("input, select, textarea, button")) { here.blur(); return; }
	const onTake = here === $("takebutton");
	if (onTake && event.repeat) { event.preventDefault(); return; } // held down, it takes once
	if (here === $("mark") && key === "Enter") { // it says where to, and takes nothing yet
		event.preventDefault();
		if (meter && meter.name) here.blur(); else $("ohm").focus();
		return;
	}
	if (here === $("mark") && (key === "ArrowUp" || key === "ArrowDown")) { event.preventDefault(); stepped(key === "ArrowUp" ? 1 : -1); return; }
	if (!$("keys").checked) return;
	const onPad = here && here.closest(".keypad");
	if (!free() && !onTake && !onPad) return;
	if ((takeKeys.has(key) || key === store.get("gw-foot")) && !onPad) {
		if (onTake && (key === " " || key === "Enter")) return; // its own
		event.preventDefault();
		if (!event.repeat && !$("takebutton").disabled) take();
		return;
	}
	if (/^[0-9.,]$/.test(key)) { $("typing").open = true; $("ohm").focus(); return; } // and the character goes there
	if (key === "+" || key === "-" || key === "−") { event.preventDefault(); stepped(key === "+" ? 1 : -1); }
	if (key === "u" || key === "d") { setWay(key === "u" ? "up" : "down"); turned(); }
});

function learn(event) {
	event.preventDefault();
	if (event.key === "Escape") { learning = false; $("foot").textContent = said("Nothing was learnt."); return; }
	if (never.has(event.key)) { $("foot").textContent = said("{1} can’t be used, as the browser needs it. Press the foot switch, or Esc to leave.", keyName(event.key)); return; }
	learning = false;
	store.set("gw-foot", event.key);
	$("foot").textContent = said("Learnt: {1} takes a reading while no field is marked.", keyName(event.key));
	$("learn").blur(); // so that the next press takes
}

// turned asks what comes next in the other direction.
function turned() { own = false; turning = way(); stay(); refresh(); }

// A listener that comes before the one that every form has.
document.addEventListener("submit", (event) => {
	if (event.target.id === "take") { event.preventDefault(); take(); }
	if (event.target.id === "hand") { event.preventDefault(); moved(); }
}, true);
document.addEventListener("input", (event) => {
	const { id } = event.target;
	if (id === "mark") goElsewhere();
	if (id === "ohm") showTake();
	if (id === "handmark") moveSoon();
});
document.addEventListener("change", (event) => {
	const { id, name } = event.target;
	if (name === "sweep" && event.target.form?.id === "take") turned();
	if (id === "auto" || id === "sound" || id === "keys") store.set(`gw-${id}`, event.target.checked ? "on" : "off");
	if (id === "auto") { stayAwake(); passed = spellName(); tell(event.target.checked ? said("From the next time that the value comes to stand, it is taken by itself.") : ""); }
	if (id === "sound" && event.target.checked) beep(880);
});
document.addEventListener("click", (event) => {
	const button = event.target.closest("button");
	if (!button || !bench()) return;
	if (button.id === "less") stepped(-1);
	if (button.id === "more") stepped(1);
	if (button.id === "learn") { learning = true; $("foot").textContent = said("Press the foot switch now, or Esc to leave."); }
	if (button.id === "handnext") { $("handmark").value = Number($("mark").value.replace(",", ".")); moved(); }
	const digit = button.dataset.digit;
	if (!digit) return;
	const at = $("ohm");
	at.value = digit === "back" ? at.value.slice(0, -1) : at.value + digit;
	showTake();
});

// The magnet of a simulated sender.

let moving = null;
async function moved() {
	const form = $("hand");
	try { await fetch(form.action, { method: "POST", body: new URLSearchParams({ tank: facts().tank, mark: $("handmark").value }), redirect: "manual" }); } catch { /* the next move tells it */ }
}
function moveSoon() {
	moving ||= setTimeout(() => { moving = null; moved(); }, 80);
}

// A screen that goes dark takes nothing by itself. Browsers give this to pages of
// this machine and to those over TLS alone; elsewhere the screen must be set to stay on.
async function stayAwake() {
	try { if (bench() && $("auto").checked && !document.hidden) await navigator.wakeLock.request("screen"); } catch { /* not given */ }
}

// What was switched on this device before.
function settle() {
	if (!bench()) return;
	$("auto").checked = store.get("gw-auto") === "on";
	$("sound").checked = store.get("gw-sound") === "on";
	$("keys").checked = store.get("gw-keys") !== "off";
	const foot = store.get("gw-foot");
	if (foot && !$("foot").dataset.told) { $("foot").dataset.told = "yes"; $("foot").textContent = said("Learnt: {1} takes a reading while no field is marked.", keyName(foot)); }
	typedMode = null;
	showQueue();
	showMeter();
	showTake();
}
document.addEventListener("refreshed", () => {
	if (!bench()) return;
	const now = facts().marks + facts().gives;
	if (kinds && now !== kinds) { location.reload(); return; } // the fields are in other units by now
	kinds = now;
	if (!$("foot").dataset.set) {
		$("foot").dataset.set = "yes";
		meter ??= JSON.parse(bench().dataset.meter);
		settle();
		resume();
	}
	suggested();
	showTake();
});
if (bench()) {
	$("foot").dataset.set = "yes";
	settle();
	stayAwake();
	resume();
}
