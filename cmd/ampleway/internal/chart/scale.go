package chart

import (
	"math"
	"strconv"
)

// scale maps values to pixels linearly. A span of next to nothing is one place.
type scale struct{ v0, v1, p0, p1 float64 }

const leastSpan = 1e-9

func (s scale) at(v float64) float64 {
	if math.Abs(s.v1-s.v0) < leastSpan {
		return s.p0
	}
	return s.p0 + (s.p1-s.p0)*(v-s.v0)/(s.v1-s.v0)
}

// step is the round number (1, 2 or 5 times a power of ten) that cuts a span
// into at most so many parts.
func step(span float64, most int) float64 {
	if !(span > 0) {
		return 1
	}
	power := math.Pow(10, math.Floor(math.Log10(span/float64(most))))
	for _, m := range []float64{1, 2, 5, 10} {
		if m*power*float64(most) >= span*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// ticks are the multiples of step within v0..v1.
func ticks(v0, v1, step float64) []float64 {
	var out []float64
	for i := math.Ceil(v0/step - 1e-9); i*step <= v1+step*1e-9; i++ {
		out = append(out, i*step)
	}
	return out
}

func number(v float64) string { return strconv.FormatFloat(v+0, 'f', -1, 64) }

// bold is about how much wider strong text is than wide says.
const bold = 1.2

// wide is about how many pixels a text takes in the drawings' small print.
func wide(text string) float64 { return 6.2 * float64(len([]rune(text))) }
