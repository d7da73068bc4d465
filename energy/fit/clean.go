package fit

import (
	"math"
	"slices"
)

// field gives one quantity of a sample, to read and to write.
type field func(*Sample) *float64

var fields = [channels]field{
	chSpeed:     func(s *Sample) *float64 { return &s.SpeedMS },
	chElevation: func(s *Sample) *float64 { return &s.ElevationM },
	chPower:     func(s *Sample) *float64 { return &s.PowerKW },
	chSoC:       func(s *Sample) *float64 { return &s.SoC },
	chHeat:      func(s *Sample) *float64 { return &s.HeatKW },
	chCool:      func(s *Sample) *float64 { return &s.CoolKW },
	chAmbient:   func(s *Sample) *float64 { return &s.AmbientC },
	chPackTemp:  func(s *Sample) *float64 { return &s.PackTempC },
}

// bridge fills blanks between two figures that lie close enough in time, for
// loggers that ask one quantity after the other.
func bridge(samples []Sample) {
	for c, f := range fields {
		if f == nil {
			continue
		}
		last := -1
		for i := range samples {
			if math.IsNaN(*f(&samples[i])) {
				continue
			}
			if last >= 0 && i > last+1 && samples[i].TimeS-samples[last].TimeS <= columns[c].holdS {
				interpolate(samples[last:i+1], f)
			}
			last = i
		}
	}
}

func interpolate(s []Sample, f field) {
	from, to := s[0], s[len(s)-1]
	a, b := *f(&from), *f(&to)
	for i := 1; i < len(s)-1; i++ {
		share := (s[i].TimeS - from.TimeS) / (to.TimeS - from.TimeS)
		*f(&s[i]) = a + (b-a)*share
	}
}

// known is the share of samples that have a quantity.
func known(samples []Sample, f field) float64 {
	if len(samples) == 0 {
		return 0
	}
	n := 0
	for i := range samples {
		if !math.IsNaN(*f(&samples[i])) {
			n++
		}
	}
	return float64(n) / float64(len(samples))
}

// A stretch in which speed and power both run along straight lines is one
// that the logger did not see and someone filled in: real traffic is never so
// even. Both must move, as a parked car's figures stand still in truth.
const (
	filledLeastS    = 20.0
	filledSpeedMS   = 0.02 // second difference per sample, above rounding
	filledPowerKW   = 0.05
	filledLeastMove = 0.02 // m/s per sample and kW per sample
)

// filled finds the filled-in stretches: true for every sample whose step from
// the one before lies in one.
func filled(samples []Sample) []bool {
	out := make([]bool, len(samples))
	start := 1
	for i := 2; i <= len(samples); i++ {
		if i < len(samples) && straight(samples[i-2:i+1]) {
			continue
		}
		if end := i - 1; end > start && samples[end].TimeS-samples[start-1].TimeS >= filledLeastS && moves(samples[start-1:end+1]) {
			for j := start; j <= end; j++ {
				out[j] = true
			}
		}
		start = i
	}
	return out
}

func straight(s []Sample) bool {
	return math.Abs(s[0].SpeedMS-2*s[1].SpeedMS+s[2].SpeedMS) <= filledSpeedMS &&
		math.Abs(s[0].PowerKW-2*s[1].PowerKW+s[2].PowerKW) <= filledPowerKW
}

func moves(s []Sample) bool {
	n := float64(len(s) - 1)
	last := len(s) - 1
	return math.Abs(s[last].SpeedMS-s[0].SpeedMS) >= filledLeastMove*n && math.Abs(s[last].PowerKW-s[0].PowerKW) >= filledLeastMove*n
}

// medianS is the width of the running median that takes single wrong figures
// out of heating and cooling, which change slowly.
const medianS = 11.0

// despike replaces every figure by the median of those within medianS/2.
func despike(samples []Sample, f field) {
	was := make([]float64, len(samples))
	for i := range samples {
		was[i] = *f(&samples[i])
	}
	var window []float64
	from, to := 0, 0
	for i := range samples {
		for samples[from].TimeS < samples[i].TimeS-medianS/2 {
			from++
		}
		for to < len(samples) && samples[to].TimeS <= samples[i].TimeS+medianS/2 {
			to++
		}
		if math.IsNaN(was[i]) {
			continue
		}
		window = window[:0]
		for _, x := range was[from:to] {
			if !math.IsNaN(x) {
				window = append(window, x)
			}
		}
		*f(&samples[i]) = median(window)
	}
}

// A heater that draws the same power, to 1 %, for nearly all of a drive is a
// signal that hangs, not a heater.
const (
	stuckLeastS = 300.0
	stuckShare  = 0.8
	stuckWithin = 0.01
)

// stuck reports whether a quantity hangs at one value above zero.
func stuck(samples []Sample, f field) bool {
	var hangs float64
	for i := 0; i < len(samples); {
		at := *f(&samples[i])
		j := i + 1
		for j < len(samples) && math.Abs(*f(&samples[j])-at) <= math.Max(stuckWithin*at, 0.011) {
			j++
		}
		if took := samples[j-1].TimeS - samples[i].TimeS; at > 0.05 && took >= stuckLeastS {
			hangs += took
		}
		i = j
	}
	return hangs >= stuckShare*(samples[len(samples)-1].TimeS-samples[0].TimeS)
}

// median sorts x and returns its median; NaN of nothing.
func median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	slices.Sort(x)
	return (x[(len(x)-1)/2] + x[len(x)/2]) / 2
}
