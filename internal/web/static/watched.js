// The page of the levels follows the watch while someone looks at it. Ages go on
// counting here: a page whose program doesn't answer grows old before your eyes.

import { swap } from "./app.js";
import { said } from "./said.js";

const pace = 2000; // ms from one answer to the next question
const patience = 5000; // ms that an answer may take

// Ages are counted by the faster of two clocks: the one stands still while a device
// sleeps, the other may be set back.
let steady = performance.now();
let day = Date.now();
let passed = 0; // ms since the page was opened
function clock() {
	const [s, d] = [performance.now(), Date.now()];
	passed += Math.max(s - steady, d - day);
	[steady, day] = [s, d];
	return passed;
}

let from = clock(); // when what stands here was made

// spell writes a duration in seconds as the server does (watched_words.go).
function spell(s) {
	if (s < 120) return said("{1} s ago", Math.floor(s));
	if (s < 7200) return said("{1} min ago", Math.floor(s / 60));
	if (s < 172800) return said("{1} h ago", Math.floor(s / 3600));
	return said("{1} days ago", Math.floor(s / 86400));
}

function count() {
	const older = (clock() - from) / 1000;
	for (const e of document.querySelectorAll("[data-age]")) {
		const s = Number(e.dataset.age) + older;
		const text = (s < 1 ? said("just now") : spell(s)).replace(/(\d) /, "$1\u00a0");
		if (e.textContent !== text) e.textContent = text;
	}
	for (const e of document.querySelectorAll("[data-lapse]")) {
		const over = older > Number(e.dataset.lapse);
		e.classList.toggle("lapsed", over);
		e.querySelector(".lapse").hidden = !over;
	}
}

function answers(yes) {
	const line = document.getElementById("cut");
	if (!line || line.hidden === yes) return;
	line.textContent = yes ? "" : said("The program doesn’t answer. All that stands below is from {1}, and grows older.", document.querySelector("#as-of .when").textContent);
	line.hidden = yes;
	document.body.classList.toggle("cutoff", !yes);
}

let timer = null;
let asking = false;

async function ask() {
	if (asking || document.hidden) return;
	asking = true;
	clearTimeout(timer);
	const asked = clock();
	try {
		const answer = await fetch("/watched/now", { headers: { Accept: "text/html" }, signal: AbortSignal.timeout(patience) });
		if (answer.redirected) { location.reload(); return; }
		const text = await answer.text();
		if (!answer.ok) throw new Error(String(answer.status));
		swap(text);
		from = asked; // not when it came: never younger than it is
		answers(true);
	} catch {
		answers(false);
	} finally {
		asking = false;
	}
	count();
	if (!document.hidden) timer = setTimeout(ask, pace);
}

document.addEventListener("visibilitychange", () => {
	clearTimeout(timer);
	if (document.hidden) return;
	count();
	ask();
});
addEventListener("pageshow", (event) => { if (event.persisted) { count(); ask(); } });
setInterval(() => { if (!document.hidden) count(); }, 1000);
timer = setTimeout(ask, pace);
