// The page of the alarms follows the watch while someone looks at it.

import { swap } from "./app.js";
import { said } from "./said.js";

const pace = 2000; // ms from one answer to the next question
const patience = 5000; // ms that an answer may take

let timer = null;
let asking = false;

function answers(yes) {
	const line = document.getElementById("cut");
	if (!line || line.hidden === yes) return;
	line.textContent = yes ? "" : said("The program doesn’t answer. All that stands below is from {1}, and grows older.", document.querySelector("#as-of .when").textContent);
	line.hidden = yes;
	document.body.classList.toggle("cutoff", !yes);
}

async function ask() {
	if (asking || document.hidden) return;
	asking = true;
	clearTimeout(timer);
	try {
		const answer = await fetch("/alarms/now", { headers: { Accept: "text/html" }, signal: AbortSignal.timeout(patience) });
		if (answer.redirected) { location.reload(); return; }
		const text = await answer.text();
		if (!answer.ok) throw new Error(String(answer.status));
		swap(text);
		answers(true);
	} catch {
		answers(false);
	} finally {
		asking = false;
	}
	if (!document.hidden) timer = setTimeout(ask, pace);
}

document.addEventListener("visibilitychange", () => {
	clearTimeout(timer);
	if (!document.hidden) ask();
});
addEventListener("pageshow", (event) => { if (event.persisted) ask(); });
timer = setTimeout(ask, pace);
