package series

// Roll is what is kept of several numbers. The zero value is of none.
type Roll struct {
	N             int64
	Min, Max, Sum int64 // mean nothing where N is 0
}

// Add takes a number in.
func (r *Roll) Add(v int64) {
	if r.N == 0 {
		r.Min, r.Max = v, v
	}
	r.Min, r.Max = min(r.Min, v), max(r.Max, v)
	r.N++
	r.Sum += v
}

// Merge takes in what another has. The order of merging makes no difference.
func (r *Roll) Merge(o Roll) {
	switch {
	case o.N == 0:
		return
	case r.N == 0:
		*r = o
		return
	}
	r.Min, r.Max = min(r.Min, o.Min), max(r.Max, o.Max)
	r.N += o.N
	r.Sum += o.Sum
}

// Mean gives the mean, 0 of none.
func (r Roll) Mean() float64 {
	if r.N == 0 {
		return 0
	}
	return float64(r.Sum) / float64(r.N)
}
