package mqtt

import "strings"

// A client may say of itself how it stands: "running", and a will that says
// "gone". That is no reading. It is passed on and, where it says so, retained.
const (
	stateLevel = "state/"
	stateMost  = 256  // bytes of one
	statesMost = 1024 // clients whose states are remembered; any more are refused
)

// StateTopic is where a client says how it stands, below the root.
func StateTopic(client string) string { return stateLevel + client }

// own says whether a message is a client's own state, as far as there is room for
// it.
func (b *Broker) own(topic, payload []byte) bool {
	name, ok := strings.CutPrefix(string(topic), b.prefix+stateLevel)
	if !ok || name == "" || len(name) > 64 || strings.Contains(name, "/") || len(payload) > stateMost {
		return false
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.states[name] {
		return true
	}
	if len(b.states) >= statesMost {
		return false
	}
	b.states[name] = true
	return true
}
