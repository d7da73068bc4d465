package fit

import "strings"

// CannotTell is the refusal of a fit: the log does not hold what the answer
// needs.
type CannotTell struct {
	Log    string // file, or "" for all of them together
	Reason string // what is wrong
	Need   string // what would do
}

// Error gives the refusal on one line.
func (c *CannotTell) Error() string {
	text := strings.TrimPrefix(c.Log+": the log cannot tell: "+c.Reason, ": ")
	if c.Need != "" {
		text += "; needed: " + c.Need
	}
	return text
}
