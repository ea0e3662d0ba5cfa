// The numbers to key in: other choices without leaving the page, and two sliders
// under which the rulers are drawn anew. The server works everything out; here it
// is only asked, and its answer put in place.

import { swap, say } from "./app.js";
import { said } from "./said.js";

const fields = (form) => new URLSearchParams(new FormData(form)).toString();
const signIn = (answer) => answer.redirected && new URL(answer.url).pathname === "/sign-in";

// One question is on its way at a time, and the latest wins: an older one that is
// waited for too long is given up, what was asked in between isn't asked at all.
const patience = 150; // ms
let wanted = null;
let flight = null;
let silent = false;

function draw() {
	const form = document.getElementById("own-form");
	if (!form) return;
	wanted = fields(form);
	if (!flight) fly(form.dataset.try);
	else if (performance.now() - flight.since > patience) flight.stop.abort();
}

async function fly(address) {
	while (wanted !== null) {
		const query = wanted;
		wanted = null;
		flight = { stop: new AbortController(), since: performance.now() };
		try {
			const answer = await fetch(address + "?" + query, { signal: flight.stop.signal, headers: { Accept: "text/html" } });
			if (signIn(answer)) { location.reload(); return; }
			if (answer.ok || answer.status === 422) show(await answer.text());
			if (silent) { silent = false; say(""); }
		} catch (problem) {
			if (problem.name !== "AbortError") {
				silent = true;
				say(said("The program doesn’t answer: what stands under the sliders is for the numbers before. Move one again."));
			}
		}
	}
	flight = null;
	later();
}

function show(text) {
	const box = document.createElement("template");
	box.innerHTML = text;
	const fresh = box.content.getElementById("trial");
	if (!fresh) return;
	document.getElementById("trial").replaceWith(fresh);
	document.dispatchEvent(new Event("drawn"));
}

// later says the outcome to who can't see it, and puts the numbers into the
// address, once the sliders stand still.
let pause = 0;
function later() {
	clearTimeout(pause);
	pause = setTimeout(() => {
		const form = document.getElementById("own-form");
		const heard = document.getElementById("heard");
		if (!form || !heard) return;
		heard.textContent = document.getElementById("trial").dataset.said || document.querySelector("#trial .fault")?.textContent || "";
		history.replaceState(null, "", location.pathname + "?" + fields(form));
	}, 500);
}

document.addEventListener("input", (event) => {
	const t = event.target;
	if (t.dataset.of) document.getElementById(t.dataset.of).value = t.value;
	else if (t.dataset.slider) {
		const v = Number(t.value.replace(",", "."));
		if (t.value.trim() !== "" && Number.isFinite(v)) document.getElementById(t.dataset.slider).value = v;
	} else return;
	draw();
});

// The arrow keys move a number by a step, as they move its slider.
document.addEventListener("keydown", (event) => {
	const t = event.target;
	if (!t.dataset?.slider || event.key !== "ArrowUp" && event.key !== "ArrowDown") return;
	event.preventDefault();
	const slider = document.getElementById(t.dataset.slider);
	if (event.key === "ArrowUp") slider.stepUp(); else slider.stepDown();
	t.value = slider.value;
	draw();
});

// Another choice: the page for it is fetched, and its parts put in place.
let asking = null;
async function choose(form) {
	asking?.abort();
	clearTimeout(pause); // the numbers before belong to the choice before
	const mine = asking = new AbortController();
	const address = location.pathname + "?" + fields(form);
	try {
		const answer = await fetch(address, { signal: mine.signal, headers: { Accept: "text/html" } });
		if (signIn(answer)) { location.reload(); return; }
		const text = await answer.text();
		if (silent) { silent = false; say(""); }
		history.replaceState(null, "", address);
		const old = document.getElementById("fault");
		if (answer.ok && !old && !form.querySelector(".bad-field")) { swap(text); return; }
		const at = document.activeElement?.id;
		const fresh = new DOMParser().parseFromString(text, "text/html");
		document.querySelector("main").replaceWith(fresh.querySelector("main"));
		document.dispatchEvent(new Event("refreshed"));
		(document.getElementById("fault") || at && document.getElementById(at))?.focus();
	} catch (problem) {
		if (problem.name !== "AbortError") {
			silent = true;
			say(said("The program doesn’t answer: what stands here is for the choice before. Choose again."));
		}
	}
}

document.addEventListener("change", (event) => {
	if (event.target.matches("#choices input[type=radio]")) choose(event.target.form);
});
document.addEventListener("submit", (event) => {
	if (event.target.id === "choices") { event.preventDefault(); choose(event.target); }
	if (event.target.id === "own-form") { event.preventDefault(); draw(); }
});
