// The page of a tank: values are read off its drawing, from the table below it, and
// the newest part is asked for again while someone looks. Without this the table and
// the links do.

import { clock, grow } from "./ages.js";
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

// tellAt draws a hair line at a moment, and says what stands there.
function tellAt(at) {
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
	tellAt(held);
}

if (slider) {
	document.getElementById("readoff").hidden = false;
	slider.addEventListener("input", () => {
		const p = parts();
		// At its end the slider is within the last row.
		held = Math.min(p.from + (p.to - p.from) * Number(slider.value) / most, p.to - 0.001);
		tellAt(held);
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

// What is left follows the watch by the stream of the owner's page. Ages go on
// counting, and a line that is silent is said to be.
const left = document.getElementById("left");
const silence = 12000; // ms, of a stream that says something every five seconds
const pace = 2000; // ms from one question to the next, at the least
let stream = null;
let mark = null;
let heard = clock();
let asked = -Infinity;

function born(age, at) {
	for (const e of [left.querySelector(".state"), ...left.querySelectorAll(".read [data-age]")]) e.born = at - 1000 * age;
}

function count() {
	const now = clock();
	for (const e of left.querySelectorAll("[data-age]")) e.born ??= now - 1000 * Number(e.dataset.age);
	for (const e of left.querySelectorAll("span[data-age]")) grow(e, (now - e.born) / 1000);
	const state = left.querySelector(".state[data-stale]");
	if (state) {
		const over = now - state.born > 1000 * Number(state.dataset.stale);
		state.classList.toggle("lapsed", over);
		state.querySelector(".lapse").hidden = !over;
	}
	const line = document.getElementById("cut");
	const cut = stream !== null && now - heard > silence;
	if (cut === line.hidden) {
		line.textContent = cut ? said("The program doesn’t answer. What stands below grows older.") : "";
		line.hidden = !cut;
		document.body.classList.toggle("cutoff", cut);
	}
}

async function look() {
	asked = clock();
	try {
		const answer = await fetch(left.dataset.path + "/now", { headers: { Accept: "text/html" }, signal: AbortSignal.timeout(5000) });
		if (answer.redirected) { location.reload(); return; }
		if (!answer.ok) return;
		const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector(".state");
		if (!fresh) return;
		left.querySelector(".state").replaceWith(fresh);
		born(Number(fresh.dataset.age), asked); // not when it came: never younger than it is
	} catch { /* the stream tells when the line is broken */ }
	count();
}

function follow() {
	if (stream || document.hidden || !left) return;
	heard = clock();
	stream = new EventSource("/left/live");
	stream.addEventListener("now", (event) => {
		heard = clock();
		const told = JSON.parse(event.data);
		const age = told.ages[Number(left.dataset.place)];
		if (age !== null && age !== undefined) born(age, heard);
		if (mark !== null && told.mark !== mark && heard - asked < pace) return; // the next word is soon
		if (told.mark !== mark) { if (mark !== null) look(); mark = told.mark; }
		count();
	});
}

document.addEventListener("visibilitychange", () => {
	if (document.hidden) {
		stream?.close();
		stream = null;
	} else {
		if (Number(document.getElementById("past")?.dataset.every)) refresh();
		look();
		follow();
	}
	again();
});
if (left) {
	setInterval(() => { if (!document.hidden) count(); }, 1000);
	count();
	follow();
}
again();
