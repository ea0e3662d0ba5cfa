package mqtt

import "testing"

// Who may read what a tank's topics tell is asked by the tank that a topic is of.
func TestPublishedTank(t *testing.T) {
	for topic, want := range map[string]string{
		LevelTopic("fresh"): "fresh", LevelTopic("alarm"): "alarm", OutlookTopic("fresh"): "fresh", FlowTopic("gas-left"): "gas-left", AlarmTopic("gas/leak"): "gas", AlarmTopic("gas/level"): "gas", AlarmTopic("gas"): "", AlarmTopic("gas/leak/x"): "", AlarmTopic("/leak"): "",
		"fresh/reading": "", "fresh/levels": "", "/level": "", "fresh/grey/level": "", "watch": "", "fresh/flow/x": "", "": "",
	} {
		if tank, ok := publishedTank(topic); ok != (want != "") || ok && tank != want {
			t.Errorf("%q: %q, %v; expected %q", topic, tank, ok, want)
		}
	}
}
