package hours

// String gives "closed", "open" or "unknown".
func (s State) String() string {
	return [...]string{Closed: "closed", Open: "open", Unknown: "unknown"}[s]
}
