// Ages go on counting on a page: one whose program doesn't answer grows old before
// your eyes.

import { said } from "./said.js";

// They are counted by the faster of two clocks: the one stands still while a device
// sleeps, the other may be set back.
let steady = performance.now();
let day = Date.now();
let passed = 0; // ms since the page was opened
export function clock() {
	const [s, d] = [performance.now(), Date.now()];
	passed += Math.max(s - steady, d - day);
	[steady, day] = [s, d];
	return passed;
}

// spell writes a duration in seconds as the server does (watched_words.go).
function spell(s) {
	if (s < 120) return said("{1} s ago", Math.floor(s));
	if (s < 7200) return said("{1} min ago", Math.floor(s / 60));
	if (s < 172800) return said("{1} h ago", Math.floor(s / 3600));
	return said("{1} days ago", Math.floor(s / 86400));
}

// grow writes an age in seconds into an element.
export function grow(e, s) {
	const text = (s < 1 ? said("just now") : spell(s)).replace(/(\d) /, "$1\u00a0");
	if (e.textContent !== text) e.textContent = text;
}
