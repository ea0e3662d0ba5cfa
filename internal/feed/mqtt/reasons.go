package mqtt

import "fmt"

// reasons are the reason codes of MQTT 5 (2.4, table 2-6, from memory) that say
// that something isn't as it should be, in words.
var reasons = map[byte]string{
	0x04: "leaving with a will",
	0x80: "an error that isn't told",
	0x81: "a malformed packet",
	0x82: "something that the protocol doesn't allow",
	0x83: "an error of the broker's own",
	0x84: "it doesn't speak MQTT 5; try protocol = \"3.1.1\"",
	0x85: "client_id isn't one that it takes",
	0x86: "user or password is wrong",
	0x87: "no right to do that",
	0x88: "it isn't available",
	0x89: "it is too busy",
	0x8A: "this client is banned",
	0x8B: "it is shutting down",
	0x8C: "a way to log in that it doesn't know",
	0x8D: "nothing came for longer than the keep alive time",
	0x8E: "another client with the same client_id has taken the session over",
	0x8F: "a topic filter that it doesn't take",
	0x90: "a topic that it doesn't take",
	0x91: "a packet identifier that is in use",
	0x92: "a packet identifier that isn't known",
	0x93: "more at once than it said it takes",
	0x94: "a topic alias that it doesn't take",
	0x95: "a packet larger than it takes",
	0x96: "messages too fast",
	0x97: "more than it has been given to spend",
	0x98: "someone ended it by hand",
	0x99: "a payload that isn't what it says",
	0x9A: "no retained messages there",
	0x9B: "no such quality of service there",
	0x9C: "use another server for now",
	0x9D: "it has moved to another server",
	0x9E: "no shared subscriptions there",
	0x9F: "connections too fast",
	0xA0: "connected for as long as is allowed",
	0xA1: "no subscription identifiers there",
	0xA2: "no wildcards in subscriptions there",
}

// reason gives a code in words, with its number.
func reason(code byte) string {
	if words, ok := reasons[code]; ok {
		return fmt.Sprintf("%s (reason 0x%02X)", words, code)
	}
	return fmt.Sprintf("reason 0x%02X", code)
}
