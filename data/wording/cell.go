package wording

import "strings"

// Cell is a text of a data file for a cell of a table: one that a spreadsheet
// would take for a formula (it begins with =, +, -, @, a tab or a carriage
// return) has an apostrophe before it. This is common practice (OWASP, "CSV
// Injection", from memory). Figures are not for Cell: a minus sign is theirs.
func Cell(text string) string {
	if text != "" && strings.ContainsAny(text[:1], "=+-@\t\r") {
		return "'" + text
	}
	return text
}
