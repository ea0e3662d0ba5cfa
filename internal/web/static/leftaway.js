// Stands in for what is left where the watch isn't reached: it says since when, and
// shows no level.

import { said } from "./said.js";

const two = (n) => String(n).padStart(2, "0");

let at = 0;
try { at = Number(localStorage.getItem("left-reached")); } catch { /* a device may keep nothing */ }
if (at > 0 && at <= Date.now()) {
	const then = new Date(at);
	const clock = two(then.getHours()) + ":" + two(then.getMinutes());
	const days = Math.floor((Date.now() - at) / 86400000);
	const text = days > 0 ? said("Not reached since {1}, {2} days ago. No level is shown.", clock, days) : said("Not reached since {1}. No level is shown.", clock);
	document.getElementById("since").textContent = text;
}

async function ask() {
	try {
		const answer = await fetch("/left/now", { headers: { Accept: "text/html" }, signal: AbortSignal.timeout(5000) });
		if (answer.ok) { location.replace("/left"); return; }
	} catch { /* not yet */ }
	setTimeout(ask, 3000);
}
setTimeout(ask, 3000);
addEventListener("online", () => { location.replace("/left"); });
