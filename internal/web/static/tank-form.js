// Forms that are kept as a whole, with buttons that add or take out a row: the
// page that comes back takes the place of this one, so nothing typed is lost.
import { newKey, send, say } from "./app.js";
import { said } from "./said.js";

// show puts an answer in the place of what stands here.
function show(fresh, address) {
	for (const part of ["main", ".tankline", ".docket"]) {
		const now = fresh.querySelector(part);
		const old = document.querySelector(part);
		if (now && old) old.replaceWith(now);
	}
	document.title = fresh.title;
	document.body.className = fresh.body.className;
	if (fresh.body.dataset.revision) document.body.dataset.revision = fresh.body.dataset.revision;
	if (address) history.replaceState(null, "", address);
	document.dispatchEvent(new Event("refreshed"));
	document.dispatchEvent(new Event("shown"));
}

let busy = false;

document.addEventListener("submit", async (event) => {
	const form = event.target;
	if (!form.matches("form[data-whole]")) return;
	event.preventDefault();
	if (busy) return;
	busy = true;
	const data = new FormData(form, event.submitter);
	const what = data.get("do") || "keep";
	const key = form.elements.namedItem("key");
	if (key) key.value = newKey();
	try {
		const answer = await send(form, data);
		if (!answer) return;
		const fresh = new DOMParser().parseFromString(answer.text, "text/html");
		if (!answer.ok && !fresh.getElementById(form.id)) {
			// What was typed stays here; only what came of it is said.
			const words = fresh.querySelector("main .lead, main .fault");
			say(said("Not kept.") + " " + (words ? words.textContent : said("The program answers with an error.")));
			return;
		}
		const address = new URL(answer.url);
		show(fresh, answer.ok && address.searchParams.has("kept") ? address.pathname : "");
		const [verb] = what.split(".");
		const rows = document.querySelectorAll(`[data-row=${CSS.escape(verb)}]`);
		const to = document.querySelector(".fault") || document.querySelector(".kept") || (verb === "look" && document.getElementById("look")) ||
			rows[rows.length - 1] || (verb === "add" && document.querySelector(".load:last-of-type input")) || document.querySelector("button[value=add]");
		if (!to) return;
		if (!to.matches("input, select, button")) to.tabIndex = -1;
		to.focus();
	} catch (error) {
		say(said("Something went wrong on this page: {1}. Load it again.", error.message));
	} finally {
		busy = false;
	}
});
