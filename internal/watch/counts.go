package watch

// Counts are what came in and what became of it.
type Counts struct {
	Taken     uint64 // readings that count
	Doubled   uint64 // the same time and value again
	Late      uint64 // placed by their time, behind a newer one
	TooLate   uint64 // too old to be placed
	Early     uint64 // from a time that can't be yet
	NotNumber uint64 // NaN and infinities
	Spikes    uint64 // set aside by the filter
	Jumps     uint64
	Open      uint64
	Short     uint64
	Beyond    uint64
	NoValue   uint64 // the source said that it has none
	Faults    uint64 // spells of a fault that were found
	Crowd     uint64 // from more sources than are told apart
}

// Named gives the counts above 0 with their names, for logs and pages.
func (c Counts) Named() []struct {
	Name string
	N    uint64
} {
	var out []struct {
		Name string
		N    uint64
	}
	for _, v := range []struct {
		Name string
		N    uint64
	}{
		{"taken", c.Taken}, {"doubled", c.Doubled}, {"late", c.Late}, {"too late", c.TooLate},
		{"from a time yet to come", c.Early}, {"not a number", c.NotNumber}, {"set aside as a spike", c.Spikes},
		{"jumps", c.Jumps}, {"open circuit", c.Open}, {"short circuit", c.Short}, {"beyond the span", c.Beyond},
		{"no value", c.NoValue}, {"spells of a fault", c.Faults},
		{"one source too many", c.Crowd},
	} {
		if v.N > 0 {
			out = append(out, v)
		}
	}
	return out
}

// plus adds what another source's readings came to.
func (c Counts) plus(d Counts) Counts {
	c.Taken += d.Taken
	c.Doubled += d.Doubled
	c.Late += d.Late
	c.TooLate += d.TooLate
	c.Early += d.Early
	c.NotNumber += d.NotNumber
	c.Spikes += d.Spikes
	c.Jumps += d.Jumps
	c.Open += d.Open
	c.Short += d.Short
	c.Beyond += d.Beyond
	c.NoValue += d.NoValue
	c.Faults += d.Faults
	c.Crowd += d.Crowd
	return c
}
