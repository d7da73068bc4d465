package fit

import (
	"fmt"
	"math"

	"ampleway/energy"
)

// piece is the time between two neighbouring samples.
type piece struct {
	timeS     float64
	speedMS   float64 // mean
	gainMS    float64 // speed at its end minus that at its start
	riseM     float64
	elevM     float64 // mean
	powerKW   float64 // mean, out of the battery
	climateKW float64 // recorded heating and cooling; 0 when not recorded
}

// trip is a drive made ready: cleaned, smoothed and cut where it has gaps.
type trip struct {
	name      string
	runs      [][]piece         // stretches without a gap
	moments   [][]energy.Moment // the same, for energy.Drive
	startS    []float64         // of each run, since the start of the drive
	ambientC  float64           // mean
	packC     float64           // mean battery temperature, NaN when not recorded
	recorded  bool              // climate power was recorded
	distanceM float64
	timeS     float64
	gapShare  float64
	usedKWh   float64 // measured at the battery, over the runs
	socFrom   float64
	socTo     float64
	warnings  []string
}

const (
	gapS         = 5.0  // a longer step between samples is a gap; or three usual steps
	coarsestS    = 10.0 // a usual step longer than this hides braking and acceleration
	mostGaps     = 0.20 // share of the time
	leastKnown   = 0.9  // share of samples with heating or cooling for them to count as recorded
	defaultTempC = 15.0
)

// prepare makes a trip of a log, or says why it cannot.
func prepare(log *Log) (*trip, *CannotTell) {
	samples := append([]Sample(nil), log.Samples...)
	t := &trip{name: log.Name, ambientC: defaultTempC}
	bridge(samples)
	if refusal := t.usable(samples); refusal != nil {
		return nil, refusal
	}
	t.climate(samples)
	if ambient := meanOf(samples, fields[chAmbient]); !math.IsNaN(ambient) {
		t.ambientC = ambient
	} else {
		t.warn("outside temperature is not recorded; %.0f °C is assumed", defaultTempC)
	}
	t.packC = meanOf(samples, fields[chPackTemp])
	t.socFrom, t.socTo = ends(samples)
	t.cut(samples)
	if t.gapShare > mostGaps {
		return nil, &CannotTell{Log: t.name, Reason: fmt.Sprintf("%.0f %% of the time is gaps (no speed or power, or filled-in straight lines)", 100*t.gapShare), Need: fmt.Sprintf("at most %.0f %%", 100*mostGaps)}
	}
	return t, nil
}

func (t *trip) usable(samples []Sample) *CannotTell {
	switch {
	case len(samples) < 2:
		return &CannotTell{Log: t.name, Reason: "it has fewer than two rows", Need: "a drive"}
	case known(samples, fields[chPower]) == 0:
		return &CannotTell{Log: t.name, Reason: "it has no energy signal", Need: "battery volts and amps, or battery power"}
	case known(samples, fields[chSpeed]) == 0:
		return &CannotTell{Log: t.name, Reason: "it has no speed", Need: "a speed column"}
	}
	if step := usualStepS(samples); step > coarsestS {
		return &CannotTell{Log: t.name, Reason: fmt.Sprintf("a row comes every %.0f s only, which hides braking and acceleration", step), Need: fmt.Sprintf("one every %.0f s or more often", coarsestS)}
	}
	return nil
}

func usualStepS(samples []Sample) float64 {
	var steps []float64
	for i := 1; i < len(samples); i++ {
		steps = append(steps, samples[i].TimeS-samples[i-1].TimeS)
	}
	return median(steps)
}

func (t *trip) warn(format string, args ...any) {
	t.warnings = append(t.warnings, t.name+": "+fmt.Sprintf(format, args...))
}

// climate cleans heating and cooling and decides whether they are recorded.
func (t *trip) climate(samples []Sample) {
	for _, c := range []channel{chHeat, chCool} {
		f := fields[c]
		share := known(samples, f)
		t.recorded = t.recorded || share >= leastKnown
		if share == 0 {
			continue
		}
		despike(samples, f)
		if stuck(samples, f) {
			t.warn("%s hangs at %.2f kW and is not believed; 0 is taken", columns[c].what, *f(&samples[len(samples)/2]))
			for i := range samples {
				*f(&samples[i]) = 0
			}
		}
	}
}

// cut makes the runs and adds up.
func (t *trip) cut(samples []Sample) {
	limit := max(gapS, 3*usualStepS(samples))
	elevation := t.elevations(samples)
	made := filled(samples)
	var run []piece
	var moments []energy.Moment
	end := func() {
		if len(run) > 0 {
			t.runs, t.moments = append(t.runs, run), append(t.moments, moments)
			t.startS = append(t.startS, moments[0].TimeS-samples[0].TimeS)
		}
		run, moments = nil, nil
	}
	var filledS float64
	for i := 1; i < len(samples); i++ {
		a, b := &samples[i-1], &samples[i]
		step := b.TimeS - a.TimeS
		if made[i] {
			filledS += step
		}
		if step > limit || made[i] || math.IsNaN(a.SpeedMS+b.SpeedMS+a.PowerKW+b.PowerKW) {
			end()
			continue
		}
		if len(run) == 0 {
			moments = append(moments, energy.Moment{TimeS: a.TimeS, SpeedMS: a.SpeedMS, ElevationM: elevation[i-1]})
		}
		moments = append(moments, energy.Moment{TimeS: b.TimeS, SpeedMS: b.SpeedMS, ElevationM: elevation[i]})
		p := piece{
			timeS: step, speedMS: (a.SpeedMS + b.SpeedMS) / 2, gainMS: b.SpeedMS - a.SpeedMS,
			riseM: elevation[i] - elevation[i-1], elevM: (elevation[i] + elevation[i-1]) / 2,
			powerKW: (a.PowerKW + b.PowerKW) / 2, climateKW: (a.climateKW() + b.climateKW()) / 2,
		}
		run = append(run, p)
		t.timeS += step
		t.distanceM += p.speedMS * step
		t.usedKWh += p.powerKW * step / 3600
	}
	end()
	if filledS > 0 {
		t.warn("%.0f s look filled in (speed and power along straight lines) and are left out", filledS)
	}
	if whole := samples[len(samples)-1].TimeS - samples[0].TimeS; whole > 0 {
		t.gapShare = 1 - t.timeS/whole
	}
}

func (t *trip) elevations(samples []Sample) []float64 {
	chainage, elevation := make([]float64, len(samples)), make([]float64, len(samples))
	for i := range samples {
		elevation[i] = samples[i].ElevationM
		if i == 0 {
			continue
		}
		chainage[i] = chainage[i-1]
		if speed := samples[i].SpeedMS + samples[i-1].SpeedMS; !math.IsNaN(speed) {
			chainage[i] += speed / 2 * (samples[i].TimeS - samples[i-1].TimeS)
		}
	}
	if !smoothElevation(chainage, elevation) {
		t.warn("elevation is not recorded; a level road is assumed")
	}
	return elevation
}

func (s *Sample) climateKW() float64 {
	var kW float64
	for _, x := range []float64{s.HeatKW, s.CoolKW} {
		if !math.IsNaN(x) {
			kW += x
		}
	}
	return kW
}

// climateKWh is the recorded climate energy over the runs.
func (t *trip) climateKWh() float64 {
	var kWh float64
	for _, run := range t.runs {
		for _, p := range run {
			kWh += p.climateKW * p.timeS / 3600
		}
	}
	return kWh
}

func meanOf(samples []Sample, f field) float64 {
	var sum, n float64
	for i := range samples {
		if x := *f(&samples[i]); !math.IsNaN(x) {
			sum += x
			n++
		}
	}
	return sum / n
}

// ends returns the first and the last recorded state of charge, NaN for none.
func ends(samples []Sample) (from, to float64) {
	from, to = math.NaN(), math.NaN()
	for i := range samples {
		if soc := samples[i].SoC; !math.IsNaN(soc) {
			if math.IsNaN(from) {
				from = soc
			}
			to = soc
		}
	}
	return from, to
}
