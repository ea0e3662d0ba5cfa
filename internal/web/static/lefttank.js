// The page of a tank: values are read off its drawing, from the table below it, and
// the newest part is asked for again while someone looks. Without this the table and
// the links do.

import { refresh } from "./app.js";
import { said } from "./said.js";

const slider = document.getElementById("at");
const most = slider ? Number(slider.max) : 0;

// parts gives what the drawing shows: when it begins and ends, and its rows.
function parts() {
	const past = document.getElementById("past");
	if (!past) return null;
	return { past, from: Number(past.dataset.from), to: Number(past.dataset.to), rows: [...document.querySelectorAll("#figures tbody tr")] };
}

// mark draws a hair line at a moment, and says what stands there.
function mark(at) {
	const p = parts();
	if (!p) return;
	const share = (at - p.from) / (p.to - p.from);
	for (const plot of p.past.querySelectorAll(".plot")) {
		const { left, right, top, bottom } = plot.dataset;
		let line = plot.querySelector(".hairline");
		if (!line) {
			line = document.createElement("div");
			line.className = "hairline";
			plot.append(line);
		}
		line.style.left = `${Number(left) + (Number(right) - Number(left)) * share}%`;
		line.style.top = `${top}%`;
		line.style.height = `${Number(bottom) - Number(top)}%`;
	}
	const row = p.rows.find((r) => at >= Number(r.dataset.from) && at < Number(r.dataset.to));
	const cells = row ? [...row.children].map((c) => c.textContent.trim()) : [];
	const events = cells.pop();
	let text = row ? cells.filter(Boolean).join(" · ") : said("nothing known");
	if (events) text += " · " + said("events {1}", events);
	const out = document.getElementById("at-said");
	if (out.textContent !== text) out.textContent = text;
	slider.setAttribute("aria-valuetext", text);
}

let held = null; // the moment that is read off

function move(at) {
	const p = parts();
	held = Math.min(p.to, Math.max(p.from, at));
	slider.value = String(Math.round((held - p.from) / (p.to - p.from) * most));
	mark(held);
}

if (slider) {
	document.getElementById("readoff").hidden = false;
	slider.addEventListener("input", () => {
		const p = parts();
		// At its end the slider is within the last row.
		held = Math.min(p.from + (p.to - p.from) * Number(slider.value) / most, p.to - 0.001);
		mark(held);
	});
	const point = (event) => {
		const plot = event.target.closest?.(".plot");
		if (!plot) return;
		const box = plot.getBoundingClientRect();
		const { left, right } = plot.dataset;
		const share = ((event.clientX - box.left) / box.width * 100 - Number(left)) / (Number(right) - Number(left));
		if (share < 0 || share > 1) return;
		const p = parts();
		move(p.from + (p.to - p.from) * share);
	};
	document.addEventListener("pointermove", point);
	document.addEventListener("pointerdown", point);
	document.addEventListener("refreshed", () => { if (held !== null) move(held); });
}

// The newest part is asked for as often as it can have changed to the eye, at once
// when the page is looked at again.
let timer = null;
function again() {
	clearTimeout(timer);
	const every = Number(document.getElementById("past")?.dataset.every) * 1000;
	if (every > 0 && !document.hidden) timer = setTimeout(async () => { await refresh(); again(); }, every);
}
document.addEventListener("visibilitychange", () => {
	if (!document.hidden && Number(document.getElementById("past")?.dataset.every)) refresh();
	again();
});
again();
