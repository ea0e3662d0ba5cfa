// Package mqtt has the broker inside the program, to which anything that speaks
// MQTT 3.1.1 or 5 publishes readings, and the same over an outside broker.
package mqtt
