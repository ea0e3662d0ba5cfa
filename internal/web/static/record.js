// Print the paper in its frame, then note that it was handed over.
import { send } from "./app.js";

document.addEventListener("submit", async (event) => {
	const form = event.target;
	const frame = document.getElementById(form.dataset.printFrame || "");
	if (!frame) return;
	event.preventDefault();
	frame.contentWindow.focus();
	frame.contentWindow.print();
	const answer = await send(form, new FormData(form));
	if (answer?.ok) location.reload();
});

// A press into the text of a code picks all of it, to be copied.
document.addEventListener("focusin", (event) => {
	if (event.target.matches("[data-pick]")) event.target.select();
});
