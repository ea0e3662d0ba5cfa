// Package simulated publishes made-up vehicles over MQTT, as real ones would.
package simulated
