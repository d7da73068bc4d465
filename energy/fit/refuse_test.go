package fit_test

import (
	"bytes"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"ampleway/data/cars"
	"ampleway/energy"
	"ampleway/energy/fit"
)

var hatchOnce struct {
	sync.Once
	car *energy.Car
}

// hatch is the built-in small hatchback, read once.
func hatch(testing.TB) *energy.Car {
	hatchOnce.Do(func() {
		file, text, _ := cars.File("small-hatch")
		car, err := energy.ReadCar(bytes.NewReader(text), file)
		if err != nil {
			panic(err)
		}
		hatchOnce.car = car
	})
	return hatchOnce.car
}

// invented returns n good invented logs.
func invented(t testing.TB, n, minutes int) []*fit.Log {
	rng := rand.New(rand.NewPCG(11, uint64(minutes)))
	want := truth{factor: 1.1, auxKW: 0.4, tripSD: 0.03, pieceSD: 0.03, noiseKW: 0.2}
	var out []*fit.Log
	for i := range n {
		c := newCourse(t, hatch(t), rng, minutes)
		out = append(out, c.log(strings.Repeat("i", i+1), want, rng))
	}
	return out
}

func TestRefusals(t *testing.T) {
	nan := math.NaN()
	spoil := func(n, minutes int, f func(i int, s *fit.Sample)) []*fit.Log {
		logs := invented(t, n, minutes)
		for _, l := range logs {
			for i := range l.Samples {
				f(i, &l.Samples[i])
			}
		}
		return logs
	}
	keep := func(int, *fit.Sample) {}
	thin := invented(t, 6, 15)
	for _, l := range thin {
		var some []fit.Sample
		for i := 0; i < len(l.Samples); i += 30 {
			some = append(some, l.Samples[i])
		}
		l.Samples = some
	}
	for _, c := range []struct {
		name, reason string
		logs         []*fit.Log
		opt          fit.Options
	}{
		{"no rows", "fewer than two rows", []*fit.Log{{Name: "x"}}, fit.Options{}},
		{"no energy", "no energy signal", spoil(2, 15, func(_ int, s *fit.Sample) { s.PowerKW = nan }), fit.Options{}},
		{"no speed", "no speed", spoil(2, 15, func(_ int, s *fit.Sample) { s.SpeedMS = nan }), fit.Options{}},
		{"too coarse", "a row comes every 30 s", thin, fit.Options{}},
		{"gaps", "gaps", spoil(2, 15, func(i int, s *fit.Sample) {
			if i%100 < 30 {
				s.PowerKW = nan
			}
		}), fit.Options{}},
		{"too short", "too short", spoil(1, 8, keep), fit.Options{}},
		{"one speed", "speed hardly varies", spoil(6, 15, func(_ int, s *fit.Sample) { s.SpeedMS = 25 }), fit.Options{}},
		{"other sign", "other sign", spoil(6, 15, func(_ int, s *fit.Sample) { s.PowerKW = -s.PowerKW + 2 }), fit.Options{}},
		{"unrelated", "does not follow", spoil(6, 15, func(i int, s *fit.Sample) { s.PowerKW = 5 + 8*math.Sin(float64(i)/37) }), fit.Options{}},
		{"too few parts", "too few", spoil(1, 17, keep), fit.Options{}},
		{"no car like it", "limit", spoil(6, 15, func(_ int, s *fit.Sample) { s.PowerKW *= 5 }), fit.Options{Detail: fit.Factor}},
	} {
		_, err := fit.Fit(c.logs, hatch(t), c.opt)
		var refusal *fit.CannotTell
		if !errors.As(err, &refusal) || !strings.Contains(err.Error(), c.reason) {
			t.Errorf("%s: %v, want a refusal with %q", c.name, err, c.reason)
		}
	}
}

// One log that cannot tell does not spoil the others.
func TestOneBadLog(t *testing.T) {
	logs := append(invented(t, 6, 12), &fit.Log{Name: "empty"})
	r, err := fit.Fit(logs, hatch(t), fit.Options{Detail: fit.Factor})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Trips) != 6 || !strings.Contains(strings.Join(r.Warnings, "\n"), "empty: the log cannot tell") {
		t.Errorf("%d drives, %q", len(r.Trips), r.Warnings)
	}
}

// What is told of each drive is what its log holds: speed times time, and power
// times time.
func TestDrivesAreToldAsLogged(t *testing.T) {
	logs := invented(t, 6, 12)
	r, err := fit.Fit(logs, hatch(t), fit.Options{Detail: fit.Factor})
	if err != nil {
		t.Fatal(err)
	}
	var km, hours float64
	for i, l := range logs {
		var metres, kWh float64
		for k := 1; k < len(l.Samples); k++ {
			a, b := &l.Samples[k-1], &l.Samples[k]
			metres += (a.SpeedMS + b.SpeedMS) / 2 * (b.TimeS - a.TimeS)
			if kW := (a.PowerKW + b.PowerKW) / 2; !math.IsNaN(kW) {
				kWh += kW * (b.TimeS - a.TimeS) / 3600
			}
		}
		x := &r.Trips[i]
		if x.Name != l.Name || !x.LeftOut || math.Abs(x.DistanceKm-metres/1000) > 1e-6 || math.Abs(x.TimeMin-12) > 1e-9 || x.GapPct > 1e-9 {
			t.Errorf("%+v, but the log has %v m", x, metres)
		}
		if math.Abs(x.MeasuredKWh/kWh-1) > 0.1 { // a fiftieth of the power is blank
			t.Errorf("%v kWh, the log has about %v", x.MeasuredKWh, kWh)
		}
		if want := 100 * (x.PredictedKWh/x.MeasuredKWh - 1); math.Abs(x.ErrorPct-want) > 1e-6 {
			t.Errorf("error of %v %%, want %v", x.ErrorPct, want)
		}
		km, hours = km+x.DistanceKm, hours+x.TimeMin/60
	}
	if text := strings.Join(r.Warnings, "\n"); !strings.Contains(text, "do not count winter tyres or rain again") {
		t.Errorf("no word of what the rolling resistance holds: %q", text)
	}
	if math.Abs(r.DistanceKm-km) > 1e-9 || math.Abs(r.TimeH-hours) > 1e-9 {
		t.Errorf("%v km in %v h, the drives have %v in %v", r.DistanceKm, r.TimeH, km, hours)
	}
}

// One long drive gives a factor whose interval holds the spread between trips
// that it cannot show.
func TestOneDrive(t *testing.T) {
	r, err := fit.Fit(invented(t, 1, 60), hatch(t), fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	e := r.Estimates[0]
	if r.Detail != fit.Factor || r.Trips[0].LeftOut || r.Spread.Measured {
		t.Errorf("%+v", r)
	}
	if half := (e.High - e.Low) / 2; half < 1.9*hatch(t).DaySpread().Trip || !(e.Low < 1.1 && 1.1 < e.High) {
		t.Errorf("factor %+v: the interval must hold the spread between trips", e)
	}
}

// A log without climate, elevation and temperatures still gives a fit, and
// says what it assumed.
func TestSparseLog(t *testing.T) {
	nan := math.NaN()
	logs := invented(t, 8, 15)
	for _, l := range logs {
		for i := range l.Samples {
			s := &l.Samples[i]
			s.ElevationM, s.HeatKW, s.CoolKW, s.AmbientC = nan, nan, nan, nan
		}
	}
	r, err := fit.Fit(logs, hatch(t), fit.Options{Detail: fit.Factor})
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Join(r.Warnings, "\n")
	for _, want := range []string{"level road", "outside temperature"} {
		if !strings.Contains(text, want) {
			t.Errorf("no word of %q in %q", want, text)
		}
	}
	if r.Climate != nil {
		t.Error("climate is fitted without a record of it")
	}
}

// However a log is spoilt, the fit answers with finite figures that can be
// written, or refuses.
func TestSpoiltLogs(t *testing.T) {
	good := invented(t, 6, 10)
	nan := math.NaN()
	rapid.Check(t, func(r *rapid.T) {
		var logs []*fit.Log
		for _, g := range good {
			logs = append(logs, &fit.Log{Name: g.Name, Samples: slices.Clone(g.Samples)})
		}
		for range rapid.IntRange(0, 8).Draw(r, "faults") {
			l := rapid.SampledFrom(logs).Draw(r, "log")
			from := rapid.IntRange(0, len(l.Samples)-1).Draw(r, "from")
			to := min(from+rapid.IntRange(1, 300).Draw(r, "rows"), len(l.Samples))
			value := rapid.SampledFrom([]float64{nan, 0, 1, -50, 50}).Draw(r, "value")
			kind := rapid.IntRange(0, 6).Draw(r, "channel")
			for i := from; i < to; i++ {
				s := &l.Samples[i]
				*[]*float64{&s.SpeedMS, &s.PowerKW, &s.ElevationM, &s.HeatKW, &s.AmbientC, &s.PackTempC, &s.SoC}[kind] = value
				s.SpeedMS = max(s.SpeedMS, 0)
			}
		}
		res, err := fit.Fit(logs, hatch(t), fit.Options{})
		var refusal *fit.CannotTell
		if errors.As(err, &refusal) {
			return
		}
		if err != nil {
			r.Fatal(err)
		}
		if err := errors.Join(res.WriteJSON(io.Discard), res.WriteText(io.Discard), energy.WriteCarYAML(io.Discard, res.Car)); err != nil {
			r.Fatal(err)
		}
	})
}
