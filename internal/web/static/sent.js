// What was sent: the page needs a script for this device alone.

import "./telldevice.js";
