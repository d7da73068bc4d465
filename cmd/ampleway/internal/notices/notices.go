// Package notices holds the licences of what is built into the program.
package notices

import _ "embed"

//go:embed notices.txt
var text string

// Text lists every module in the program of any released platform, and the
// standard library: its SPDX licence names, its copyright lines and the texts
// it is under. Each text is there once.
func Text() string { return text }
