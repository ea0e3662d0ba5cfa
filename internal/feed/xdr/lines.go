package xdr

// longestLine is the most bytes that a line may have: twelve times a sentence, for
// tag blocks and those who send longer ones.
const longestLine = 1024

// cutter cuts a stream of bytes, however it is split on its way, into lines. LF,
// CR and CR LF end a line, and empty lines are none.
type cutter struct {
	part    []byte
	toolong bool // until the next end of a line
}

// push takes bytes and gives each line that ends in them. A line that is too long
// is given once, as its beginning. Lines are good until the call returns.
func (c *cutter) push(bytes []byte, give func(line []byte, toolong bool)) {
	for _, b := range bytes {
		switch {
		case b == '\n' || b == '\r':
			c.end(give)
		case c.toolong:
		case len(c.part) == longestLine:
			c.toolong = true
		default:
			c.part = append(c.part, b)
		}
	}
}

// end ends the line that has begun.
func (c *cutter) end(give func(line []byte, toolong bool)) {
	if len(c.part) > 0 {
		give(c.part, c.toolong)
	}
	c.part, c.toolong = c.part[:0], false
}
