package tag

// Weights of what makes a code hard to read (ISO/IEC 18004, 7.8.3.1).
const (
	weightRun    = 3  // five modules alike in a line, and one more for each more
	weightBlock  = 3  // two by two modules alike
	weightFinder = 40 // what looks like a finder pattern with white beside it
	weightShare  = 10 // each 5 points by which the share of dark misses 50 %
)

// penalty gives the penalty of a code under its mask by ISO/IEC 18004, 7.8.3.1;
// less is better to read.
func (m Matrix) penalty() int {
	sum, dark := 0, 0
	for i := range m.Size {
		sum += line(m.Size, func(k int) bool { return m.dark[i*m.Size+k] })
		sum += line(m.Size, func(k int) bool { return m.dark[k*m.Size+i] })
	}
	for y := range m.Size {
		for x := range m.Size {
			here := m.dark[y*m.Size+x]
			if here {
				dark++
			}
			if x > 0 && y > 0 && here == m.dark[y*m.Size+x-1] && here == m.dark[(y-1)*m.Size+x] && here == m.dark[(y-1)*m.Size+x-1] {
				sum += weightBlock
			}
		}
	}
	all := m.Size * m.Size
	return sum + weightShare*(abs(2*dark-all)*10/all)
}

// line gives the penalty of the runs and of the finder-like patterns of one row
// or column.
func line(n int, dark func(int) bool) int {
	// 1:1:3:1:1 with four white modules before or behind it, in eleven modules.
	const before, behind, eleven = 0b00001011101, 0b10111010000, 1<<11 - 1
	sum, run, last := 0, 0, 0
	for k := range n {
		bit := 0
		if dark(k) {
			bit = 1
		}
		if k > 0 && bit == last&1 {
			run++
		} else {
			run = 1
		}
		switch {
		case run == 5:
			sum += weightRun
		case run > 5:
			sum++
		}
		last = (last<<1 | bit) & eleven
		if k >= 10 && (last == before || last == behind) {
			sum += weightFinder
		}
	}
	return sum
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
