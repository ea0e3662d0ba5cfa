import "./bench.js";
