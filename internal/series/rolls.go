package series

// PackRolls appends rolls that follow one another in time to dst. They come back
// as they were. It panics where there are more than Most.
//
// Least and most are packed as distances from the mean, rounded down to a whole
// step, since these three move less together than each alone; the sum is then
// what is left over beside the number times that mean.
func PackRolls(dst []byte, rolls []Roll) []byte {
	column := make([]int64, len(rolls))
	for _, of := range [...]func(r Roll, mean int64) int64{
		func(r Roll, _ int64) int64 { return r.N },
		func(_ Roll, mean int64) int64 { return mean },
		func(r Roll, mean int64) int64 { return mean - r.Min },
		func(r Roll, mean int64) int64 { return r.Max - mean },
		func(r Roll, mean int64) int64 { return r.Sum - r.N*mean },
	} {
		for i, r := range rolls {
			column[i] = of(r, r.whole())
		}
		dst = Pack(dst, column)
	}
	return dst
}

// UnpackRolls appends to dst the rolls at the beginning of b, and gives what
// follows them in b. The error is ErrDamaged.
func UnpackRolls(dst []Roll, b []byte) (rolls []Roll, rest []byte, err error) {
	n := len(dst)
	column, rest, err := Unpack(nil, b)
	if err != nil {
		return dst, b, err
	}
	rolls = dst
	for _, v := range column {
		rolls = append(rolls, Roll{N: v})
	}
	of := rolls[n:]
	mean := make([]int64, 0, len(of))
	if mean, rest, err = Unpack(mean, rest); err != nil || len(mean) != len(of) {
		return dst, b, ErrDamaged
	}
	for _, put := range [...]func(r *Roll, mean, v int64){
		func(r *Roll, mean, v int64) { r.Min = mean - v },
		func(r *Roll, mean, v int64) { r.Max = mean + v },
		func(r *Roll, mean, v int64) { r.Sum = r.N*mean + v },
	} {
		if column, rest, err = Unpack(column[:0], rest); err != nil || len(column) != len(of) {
			return dst, b, ErrDamaged
		}
		for i, v := range column {
			put(&of[i], mean[i], v)
		}
	}
	return rolls, rest, nil
}

// whole gives the mean in whole steps, rounded down; of none, the least.
func (r Roll) whole() int64 {
	if r.N == 0 {
		return r.Min
	}
	return floorDiv(r.Sum, r.N)
}

// floorDiv divides and rounds down; the divisor isn't 0.
func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b != 0 && (a < 0) != (b < 0) {
		q--
	}
	return q
}
