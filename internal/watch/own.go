package watch

// Signal gives what the instrument's own sender gives, which is what a bare number
// means.
func (in *Instrument) Signal() Signal { return in.own }
