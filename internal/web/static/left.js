// What is left follows the watch by a stream that says when to look again and how
// old the readings are. Ages go on counting here, and a page that is cut off says
// so at once.

import { clock, grow } from "./ages.js";
import { swap } from "./app.js";
import { said } from "./said.js";
import "./telldevice.js";

const silence = 12000; // ms without a word, of which there is one in 5 s, until the line counts as broken
const patience = 5000; // ms that an answer may take
const pause = 2000; // ms until a line that broke is tried again
const slowly = 3000; // ms from look to look where there is no stream to be had

let stream = null;
let lead = -Infinity; // how far the stream's time is before ours, at the most: the event that was quickest here
let heard = clock(); // when there was last a word
let again = null; // the timer of the next look
let lookingNow = null;

const two = (n) => String(n).padStart(2, "0");

// reached notes that the watch answers, also for the page that stands in where it
// doesn't (leftaway.js).
function reached() {
	heard = clock();
	try { localStorage.setItem("left-reached", String(Date.now())); } catch { /* a device may keep nothing */ }
	const line = document.getElementById("cut");
	if (line.hidden) return;
	line.textContent = "";
	line.hidden = true;
	document.body.classList.remove("cutoff");
}

// lost says that the watch isn't reached.
function lost() {
	const line = document.getElementById("cut");
	if (!line.hidden) return;
	const at = new Date(Date.now() - (clock() - heard));
	line.textContent = said("Not reached since {1}. What stands below is from then, and grows older.", two(at.getHours()) + ":" + two(at.getMinutes()));
	line.hidden = false;
	document.body.classList.add("cutoff");
}

// date says when each age on the page was nought, by our clock; those that are new
// on it are as old as when they were asked for.
function date(asked) {
	for (const e of document.querySelectorAll("[data-age]")) e.born ??= asked - 1000 * Number(e.dataset.age);
}

function count() {
	const now = clock();
	for (const e of document.querySelectorAll("span[data-age]")) grow(e, (now - e.born) / 1000);
	for (const e of document.querySelectorAll("[data-stale]")) {
		const over = now - e.born > 1000 * Number(e.dataset.stale);
		e.classList.toggle("lapsed", over);
		e.querySelector(".lapse").hidden = !over;
	}
}

// look fetches what stands on the page; asked again meanwhile, it does so once more.
function look() {
	if (lookingNow) { lookingNow.more = true; return lookingNow.done; }
	const turn = { more: false };
	turn.done = (async () => {
		try {
			do {
				turn.more = false;
				const asked = clock();
				const answer = await fetch("/left/now", { headers: { Accept: "text/html" }, signal: AbortSignal.timeout(patience) });
				if (answer.redirected) { location.reload(); return true; }
				const text = await answer.text();
				if (!answer.ok) throw new Error(String(answer.status));
				swap(text);
				date(asked); // not when it came: never younger than it is
				reached();
			} while (turn.more);
			return true;
		} catch {
			lost();
			return false;
		} finally {
			lookingNow = null;
			count();
		}
	})();
	lookingNow = turn;
	return turn.done;
}

// tell takes what the stream says.
function tell(text) {
	const now = clock();
	const { mark, at, ages } = JSON.parse(text);
	lead = Math.max(lead, at - now);
	const when = now - (lead - (at - now)); // an event that was long under way is as old as that
	reached();
	if (mark !== document.getElementById("as-of").dataset.mark) { look(); return; }
	document.querySelectorAll(".state").forEach((state, i) => {
		if (ages[i] === null) return;
		for (const e of [state, ...state.querySelectorAll(".read [data-age]")]) e.born = when - 1000 * ages[i];
	});
	count();
}

function hush() {
	stream?.close();
	stream = null;
	clearTimeout(again);
}

function later(ms) {
	clearTimeout(again);
	again = setTimeout(async () => {
		if (document.hidden) return;
		if (await look()) follow();
		else later(pause);
	}, ms);
}

function follow() {
	if (stream || document.hidden) return;
	const own = new EventSource("/left/live");
	let told = false;
	lead = -Infinity;
	stream = own;
	own.addEventListener("now", (event) => { if (own === stream) { told = true; tell(event.data); } });
	own.addEventListener("error", async () => {
		if (own !== stream) return;
		hush();
		if (!told) { later(slowly); return; } // it is refused, or the watch isn't there: the look tells
		lost();
		later(await look() ? 0 : pause);
	});
}

// A line may break without a sound.
setInterval(() => {
	if (document.hidden) return;
	count();
	if (stream && clock() - heard > silence) { hush(); lost(); later(0); }
}, 1000);

function back() {
	count();
	hush();
	later(0);
}
document.addEventListener("visibilitychange", () => { if (document.hidden) hush(); else back(); });
addEventListener("pageshow", (event) => { if (event.persisted) back(); });
addEventListener("online", back);
addEventListener("offline", () => { hush(); lost(); later(pause); });

date(clock());
reached();
follow();

// What a phone shows where the watch isn't reached. Only a page that came over TLS,
// or from this machine, may have it.
navigator.serviceWorker?.register("/left/worker.js", { scope: "/left" }).catch(() => {});
