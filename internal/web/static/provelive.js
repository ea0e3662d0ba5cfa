// What the running watch reads is asked for every second while someone looks; the
// fields of the form are left alone.

import { say } from "./app.js";
import { said } from "./said.js";

const pace = 1000; // ms from one answer to the next question
const parts = ["feed", "asread"];

let timer = null;
let silent = false;

async function ask() {
	clearTimeout(timer);
	const feed = document.getElementById("feed");
	if (!feed || document.hidden) return;
	try {
		const answer = await fetch(location.pathname + "/now", { headers: { Accept: "text/html" }, signal: AbortSignal.timeout(5000) });
		if (answer.redirected) { location.reload(); return; }
		const text = await answer.text();
		if (!answer.ok) throw new Error(String(answer.status));
		const fresh = new DOMParser().parseFromString(text, "text/html");
		for (const id of parts) {
			const [old, now] = [document.getElementById(id), fresh.getElementById(id)];
			if (!old || !now || old.outerHTML === now.outerHTML) continue;
			// Whoever is about to press the button keeps it, with its new words.
			const held = old.contains(document.activeElement);
			old.replaceWith(now);
			if (held) now.querySelector("button")?.focus({ preventScroll: true });
		}
		if (silent) say("");
		silent = false;
	} catch {
		say(said("The program doesn’t answer. What is read below grows older."));
		silent = true;
	}
	if (!document.hidden) timer = setTimeout(ask, pace);
}

document.addEventListener("visibilitychange", () => { clearTimeout(timer); ask(); });
timer = setTimeout(ask, pace);
