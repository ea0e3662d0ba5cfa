package telling

// Grid is a table of text. Its first Left columns stand flush left, the others
// flush right. Every row has as many cells as the head; a head of empty texts
// isn't shown.
type Grid struct {
	Head []string
	Rows [][]string
	Left int
}

// Add puts a row below the others. A row that is short is filled up with empty
// cells.
func (g *Grid) Add(cells ...string) {
	for len(cells) < len(g.Head) {
		cells = append(cells, "")
	}
	g.Rows = append(g.Rows, cells)
}

// Headed says whether the table has a head to show.
func (g *Grid) Headed() bool {
	for _, h := range g.Head {
		if h != "" {
			return true
		}
	}
	return false
}
