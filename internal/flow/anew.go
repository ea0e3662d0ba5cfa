package flow

// Anew goes on with levels that are shown by another curve from now on, as where a
// correction was learned: by what they differ from those before nothing came in or went
// out. What goes on is ended; the events, and what is known of the use, stay.
func (t *Tracker) Anew() {
	if t.s.Newest == 0 {
		return
	}
	t.setBack(t.s.Newest)
	t.s.Known, t.s.Break = false, lapse{}
}
