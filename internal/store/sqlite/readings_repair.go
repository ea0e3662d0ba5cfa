package sqlite

import "slices"

// Repairs says in sentences what was put right when the file was opened.
func (s *Readings) Repairs() []string { return slices.Clone(s.repairs) }
