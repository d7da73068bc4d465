package place

// Len returns the number of places.
func (l *List) Len() int { return len(l.places) }
