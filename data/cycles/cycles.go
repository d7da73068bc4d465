// Package cycles holds the drive cycles that the project may carry: the US
// federal ones of 40 CFR Part 86, Appendix I, a work of the US government in
// the public domain, in m/s at one-second steps.
package cycles

import (
	_ "embed"
	"strconv"
	"strings"
)

//go:embed hwfet.csv
var hwfet string

//go:embed udds.csv
var udds string

//go:embed us06.csv
var us06 string

// HWFET returns the speeds in m/s of the highway fuel economy test, one a
// second from standstill to standstill.
func HWFET() []float64 { return speeds(hwfet) }

// UDDS returns the speeds in m/s of the urban dynamometer driving schedule.
func UDDS() []float64 { return speeds(udds) }

// US06 returns the speeds in m/s of the aggressive driving schedule.
func US06() []float64 { return speeds(us06) }

func speeds(text string) []float64 {
	var out []float64
	for line := range strings.Lines(text) {
		_, field, _ := strings.Cut(strings.TrimSpace(line), ",")
		if v, err := strconv.ParseFloat(field, 64); err == nil {
			out = append(out, v)
		}
	}
	return out
}
