// The page of the levels follows the watch while someone looks at it. Ages go on
// counting here: a page whose program doesn't answer grows old before your eyes.

import { clock, grow } from "./ages.js";
import { swap } from "./app.js";
import { said } from "./said.js";

const pace = 2000; // ms from one answer to the next question
const patience = 5000; // ms that an answer may take

let from = clock(); // when what stands here was made

function count() {
	const older = (clock() - from) / 1000;
	for (const e of document.querySelectorAll("[data-age]")) {
		grow(e, Number(e.dataset.age) + older);
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
