// The form of the contents is kept as a whole, and its rows come and go.
import "./tank-form.js";
