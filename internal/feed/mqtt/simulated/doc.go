// Package simulated publishes the readings of made-up vehicles over MQTT 5, as a
// controller in a vehicle would: at QoS 1, in the order in which they were taken,
// each kept until the broker has acknowledged it. While the broker is away
// readings wait up to a bound; beyond it the oldest are dropped, and counted.
package simulated
