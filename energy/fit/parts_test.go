package fit

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"ampleway/energy"
	"ampleway/energy/taper"
)

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// uneven is a drive at 19 and 21 m/s in turn, drawing 9 and 11 kW, so that no
// stretch of it runs along a straight line.
func uneven(timesS ...float64) *Log {
	l := &Log{Name: "uneven"}
	nan := math.NaN()
	for i, s := range timesS {
		sign := float64(1 - 2*(i%2))
		l.Samples = append(l.Samples, Sample{TimeS: s, SpeedMS: 20 + sign, PowerKW: 10 + sign, ElevationM: 100, SoC: nan, HeatKW: nan, CoolKW: nan, AmbientC: nan, PackTempC: nan})
	}
	return l
}

// every is n times, stepS apart.
func every(stepS float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = stepS * float64(i)
	}
	return out
}

// A step of 5 s, or of three usual ones, is still seen; a longer one is a gap,
// counts for nothing and begins a new run.
func TestGapsByHand(t *testing.T) {
	for _, c := range []struct {
		usualS, stepS float64
		runs          int
	}{{1, 5, 1}, {1, 5.01, 2}, {3, 9, 1}, {3, 9.01, 2}} {
		times := every(c.usualS, 60)
		for _, s := range every(c.usualS, 60) {
			times = append(times, 59*c.usualS+c.stepS+s)
		}
		trip, refusal := prepare(uneven(times...))
		if refusal != nil {
			t.Fatal(refusal)
		}
		seenS := 118 * c.usualS
		if c.runs == 1 {
			seenS += c.stepS
		}
		if len(trip.runs) != c.runs || len(trip.moments) != c.runs || len(trip.startS) != c.runs {
			t.Errorf("%+v: %d runs", c, len(trip.runs))
		}
		near(t, "s", trip.timeS, seenS, 1e-9)
		near(t, "m", trip.distanceM, 20*seenS, 1e-6)
		near(t, "kWh", trip.usedKWh, 10*seenS/3600, 1e-9)
		near(t, "gaps", trip.gapShare, 1-seenS/times[len(times)-1], 1e-12)
		near(t, "start of the last run", trip.startS[c.runs-1], float64(c.runs-1)*(59*c.usualS+c.stepS), 1e-9)
		if last := trip.moments[c.runs-1]; last[len(last)-1].TimeS != times[len(times)-1] {
			t.Errorf("%+v: ends at %v", c, last[len(last)-1])
		}
	}
}

// Rows 10 s apart are the coarsest, and a fifth of the time the most that may
// be gaps.
func TestHowMuchALogMayHide(t *testing.T) {
	if _, refusal := prepare(uneven(every(10, 50)...)); refusal != nil {
		t.Error(refusal)
	}
	if _, refusal := prepare(uneven(every(10.1, 50)...)); refusal == nil || !strings.Contains(refusal.Error(), "hides braking") {
		t.Errorf("rows 10.1 s apart: %v", refusal)
	}
	for _, c := range []struct {
		blank int
		sound bool
	}{{19, true}, {20, false}} {
		l := uneven(every(1, 101)...)
		for i := range c.blank { // the step to each side goes too
			l.Samples[40+i].PowerKW = math.NaN()
		}
		if _, refusal := prepare(l); (refusal == nil) != c.sound {
			t.Errorf("%d of 100 s not seen: %v", c.blank+1, refusal)
		}
	}
}

// Heating that is known for nine tenths of the rows is recorded; what is not
// recorded is assumed and told.
func TestWhatIsRecorded(t *testing.T) {
	for _, c := range []struct {
		known    int
		recorded bool
	}{{90, true}, {89, false}} {
		l := uneven(every(1, 100)...)
		for i := range c.known {
			l.Samples[i].HeatKW = 1 + 0.5*math.Sin(float64(i)/5)
		}
		trip, refusal := prepare(l)
		if refusal != nil {
			t.Fatal(refusal)
		}
		if trip.recorded != c.recorded {
			t.Errorf("%d of 100 rows with heating: recorded %v", c.known, trip.recorded)
		}
		near(t, "assumed °C", trip.ambientC, 15, 0)
		if !math.IsNaN(trip.packC) || !math.IsNaN(trip.socFrom) || !math.IsNaN(trip.socTo) {
			t.Errorf("out of nothing: battery at %v °C, %v to %v", trip.packC, trip.socFrom, trip.socTo)
		}
	}
	l := uneven(every(1, 100)...)
	for i := range l.Samples {
		s := &l.Samples[i]
		s.HeatKW, s.CoolKW, s.AmbientC, s.PackTempC = 2+math.Sin(float64(i)), 0.5, 4+float64(i%2), 8
	}
	l.Samples[3].SoC, l.Samples[90].SoC = 0.8, 0.7
	trip, refusal := prepare(l)
	if refusal != nil {
		t.Fatal(refusal)
	}
	near(t, "°C", trip.ambientC, 4.5, 1e-12)
	near(t, "battery °C", trip.packC, 8, 1e-12)
	near(t, "first SoC", trip.socFrom, 0.8, 0)
	near(t, "last SoC", trip.socTo, 0.7, 0)
	var kWh float64
	for _, p := range trip.runs[0] {
		kWh += p.climateKW * p.timeS / 3600
	}
	near(t, "climate kWh", trip.climateKWh(), kWh, 1e-12)
	near(t, "mean climate kW", kWh*3600/trip.timeS, 2.5, 0.1)
}

// A stretch counts as filled in from 20 s on, and only where speed and power
// both move by 0.02 a row.
func TestFilledLimits(t *testing.T) {
	for _, c := range []struct {
		rows             int
		speedMS, powerKW float64 // change of each a row
		want             bool
	}{
		{22, 0.1, 0.1, true}, {20, 0.1, 0.1, false}, {60, 0.0203, 0.0203, true}, {60, 0.0197, 0.0203, false}, {60, 0.0203, 0.0197, false},
		{60, -0.1, 0.1, true}, {60, 0.1, -0.1, true}, {60, 0, 0, false},
	} {
		l := uneven(every(1, 200)...)
		for i := range c.rows {
			l.Samples[50+i].SpeedMS, l.Samples[50+i].PowerKW = 25+c.speedMS*float64(i), 12+c.powerKW*float64(i)
		}
		made := 0
		for _, m := range filled(l.Samples) {
			if m {
				made++
			}
		}
		if (made > 0) != c.want || made > c.rows {
			t.Errorf("%+v: %d rows filled in", c, made)
		}
	}
}

// A heater hangs where it stands at one figure for 300 s at a stretch, four
// fifths of the time in all.
func TestStuckLimits(t *testing.T) {
	for _, c := range []struct {
		hangs, moves int
		kW           float64
		want         bool
	}{{810, 190, 2, true}, {790, 210, 2, false}, {310, 20, 2, true}, {290, 20, 2, false}, {900, 100, 0.04, false}, {900, 100, 0.06, true}} {
		var s []Sample
		for i := range c.hangs + c.moves {
			heat := c.kW
			if i >= c.hangs {
				heat = 3 + math.Mod(float64(i)*0.37, 2)
			}
			s = append(s, Sample{TimeS: float64(i), HeatKW: heat})
		}
		if got := stuck(s, fields[chHeat]); got != c.want {
			t.Errorf("%+v: hangs %v", c, got)
		}
	}
}

// A road of one slope keeps it however unevenly the rows come, for distance is
// speed times time.
func TestSlopeKeptOverUnevenRows(t *testing.T) {
	times, at := []float64{0}, 0.0
	for i := range 300 {
		at += []float64{0.5, 1, 4, 2}[i%4]
		times = append(times, at)
	}
	l := uneven(times...)
	chainage := 0.0
	for i := range l.Samples {
		if i > 0 {
			chainage += 20 * (times[i] - times[i-1])
		}
		l.Samples[i].ElevationM = 100 + 0.03*chainage
	}
	trip, refusal := prepare(l)
	if refusal != nil {
		t.Fatal(refusal)
	}
	for _, p := range trip.runs[0] {
		near(t, "slope", p.riseM/(p.speedMS*p.timeS), 0.03, 1e-9)
	}
}

// A step in the recorded elevation is spread over 600 m to either side, twice a
// mean over 300, and a row each for the step and the means, whatever the time
// between rows.
func TestElevationIsSmoothedOverItsDistance(t *testing.T) {
	for _, stepS := range []float64{1, 2, 4} { // 20, 40 and 80 m a row
		l := uneven(every(stepS, int(4000/(20*stepS))+1)...)
		for i := range l.Samples {
			if 20*l.Samples[i].TimeS > 2000 {
				l.Samples[i].ElevationM = 110
			}
		}
		trip, refusal := prepare(l)
		if refusal != nil {
			t.Fatal(refusal)
		}
		var at, risen float64
		for _, p := range trip.runs[0] {
			at += p.speedMS * p.timeS
			risen += p.riseM
			off := math.Abs(at - p.speedMS*p.timeS/2 - 2000)
			if off > 600+3*20*stepS && math.Abs(p.riseM) > 1e-9 || off < 500 && p.riseM <= 0 {
				t.Errorf("rows %v s apart: rises by %v m at %v m", stepS, p.riseM, at)
			}
		}
		near(t, "m risen", risen, 10, 1e-9)
	}
}

// even is a drive whose windows take what pAux alone says: 12 kW for 300 s are
// 1 kWh, over 5 km.
func even(off ...float64) *drive {
	d := &drive{trip: &trip{}}
	for _, x := range off {
		d.windows = append(d.windows, window{timeS: 300, distanceM: 5000, measuredKWh: 1 + x})
		d.timeS += 300
		d.distanceM += 5000
	}
	return d
}

// Variances by hand, groups of unequal size: {1,2,3} and {7,9} have 4 within
// on 3 degrees of freedom and 43.2 between on 1, n₀ = 2.4.
func TestComponentsByHand(t *testing.T) {
	between, within, ok := components([][]float64{{1, 2, 3}, {7, 9}})
	near(t, "within", within, 4.0/3, 1e-12)
	near(t, "between", between, (43.2-4.0/3)/2.4, 1e-12)
	if !ok {
		t.Error("two groups are enough")
	}
	if between, _, ok = components([][]float64{{1, 3}, {2, 2}}); between != 0 || !ok {
		t.Errorf("means alike: %v between, %v", between, ok)
	}
	if between, within, ok = components([][]float64{{1, 3}}); between != 0 || within != 2 || ok {
		t.Errorf("one group: %v, %v, %v", between, within, ok)
	}
	if between, within, ok = components([][]float64{{1}, {3}}); between != 0 || within != 0 || ok {
		t.Errorf("groups of one: %v, %v, %v", between, within, ok)
	}
}

// Spread by hand on the same figures in hundredths: what pieces of 5 km show
// over 100 km is a twentieth of their variance, and the car's own spread
// between trips counts as five drives beside the one degree of freedom seen.
func TestSpreadByHand(t *testing.T) {
	car := &energy.Car{Spread: energy.Spread{Trip: 0.08, Leg: 0.04}}
	th := theta{pAux: 12}
	f := &driveFit{car: car, th: theta{pAux: 24}, byTrip: true, left: []theta{th, th}, drives: []*drive{even(0.01, 0.02, 0.03), even(0.07, 0.09)}}
	s := f.spread()
	within, between := 1e-4*4/3, 1e-4*(43.2-4.0/3)/2.4
	near(t, "piece", s.PiecePct, 100*math.Sqrt(within), 1e-9)
	near(t, "leg", s.LegPct, 100*math.Sqrt(within/20), 1e-9)
	near(t, "seen", s.SeenPct, 100*math.Sqrt(between), 1e-9)
	near(t, "trip", s.TripPct, 100*math.Sqrt((5*0.0064+between)/6), 1e-9)
	if !s.Measured || s.PieceKm != 5 || s.LegKm != 100 {
		t.Errorf("%+v", s)
	}
	// Parts of few drives cannot show how trips differ, nor can one drive.
	for _, f := range []*driveFit{
		{car: car, th: th, drives: f.drives},
		{car: car, th: th, byTrip: true, left: []theta{th}, drives: f.drives[:1]},
	} {
		s = f.spread()
		near(t, "trip", s.TripPct, 8, 1e-12)
		if s.Measured || s.SeenPct != 0 || s.PiecePct == 0 {
			t.Errorf("%+v", s)
		}
	}
	// One piece shows nothing: the car's own figures stay.
	s = (&driveFit{car: car, th: th, drives: []*drive{even(0.02)}}).spread()
	near(t, "leg", s.LegPct, 4, 1e-12)
	if s.PiecePct != 0 || s.Measured {
		t.Errorf("%+v", s)
	}
}

// A piece is whole at 5 km and 0.1 kWh, and none is further off than half.
func TestPiecesByHand(t *testing.T) {
	d := &drive{trip: &trip{}, windows: []window{
		{timeS: 300, distanceM: 2500, measuredKWh: 1.1}, {timeS: 300, distanceM: 2500, measuredKWh: 1.1}, // 2.2 of 2
		{timeS: 300, distanceM: 5000, measuredKWh: 3},                                  // three times
		{timeS: 300, distanceM: 5000, measuredKWh: -1},                                 // given back
		{timeS: 30, distanceM: 5000, measuredKWh: 0.1},                                 // expected 0.1
		{timeS: 29, distanceM: 6000, measuredKWh: 0.1}, {timeS: 31, measuredKWh: 0.14}, // not whole until 0.2
		{timeS: 300, distanceM: 4999, measuredKWh: 5}, // never whole
		{timeS: 0, climateKWh: 0, distanceM: 0, measuredKWh: 0},
	}}
	want := []float64{0.1, 0.5, -0.5, 0, 0.2}
	got := d.piecesOff(&theta{pAux: 12})
	if len(got) != len(want) {
		t.Fatalf("%v, want %v", got, want)
	}
	for i := range want {
		near(t, "off", got[i], want[i], 1e-9)
	}
	near(t, "climate is expected too", (&drive{trip: &trip{}, windows: []window{{timeS: 300, distanceM: 5000, measuredKWh: 3, climateKWh: 1}}}).piecesOff(&theta{pAux: 12})[0], 0.5, 1e-12)
}

// telltale is a drive that tells: windows at 20 ± spread m/s, whose measured
// energy has a correlation with the expected one.
func telltale(km, seconds, spreadMS, correlation float64) *driveFit {
	d := &drive{trip: &trip{distanceM: 1000 * km, timeS: seconds}, driveEfficiency: 1}
	const n = 40
	for i := range n {
		expects, differs := float64(1-2*(i%2)), float64(1-2*(i/2%2))
		speed := 20 + spreadMS*math.Sqrt((n-1.0)/n)*expects
		joule := 1e5 * (3 + expects)
		measured := 1e5 * (3 + correlation*expects + math.Sqrt(1-correlation*correlation)*differs)
		d.windows = append(d.windows, window{timeS: 20, distanceM: 20 * speed, measuredKWh: measured/joulePerKWh + 0.5, climateKWh: 0.5, work: []work{{rolling: joule, timeS: 20}}})
	}
	return &driveFit{car: &energy.Car{}, drives: []*drive{d}}
}

// What a fit of consumption needs: 10 km and 15 minutes, speeds that spread by
// 2.5 m/s, and energy that follows the driving.
func TestTellingLimits(t *testing.T) {
	for _, c := range []struct {
		km, seconds, spreadMS, correlation float64
		says                               string
	}{
		{10, 900, 2.51, 0.51, ""}, {9.99, 900, 3, 1, "too short"}, {10, 899, 3, 1, "10.0 km and 15 min of driving are too short"},
		{20, 2000, 2.49, 1, "speed hardly varies (by 9.0 km/h)"}, {20, 2000, 3, 0.49, "does not follow"},
		{20, 2000, 3, -0.29, "does not follow"}, {20, 2000, 3, -0.31, "other sign"},
	} {
		err := telltale(c.km, c.seconds, c.spreadMS, c.correlation).telling()
		if c.says == "" && err != nil || c.says != "" && (err == nil || !strings.Contains(err.Error(), c.says)) {
			t.Errorf("%+v: %v", c, err)
		}
	}
}

// A full fit needs 60 km in six drives, a tenth of the windows below 50 km/h
// and a tenth above 70.
func TestFullLimits(t *testing.T) {
	fitOf := func(drives int, km float64, slowKMH, fastKMH float64, slow, fast int) *driveFit {
		f := &driveFit{}
		for range drives {
			d := &drive{trip: &trip{distanceM: 1000 * km / float64(drives)}}
			for i := range 20 {
				kmh := 60.0
				switch {
				case i < slow:
					kmh = slowKMH
				case i < slow+fast:
					kmh = fastKMH
				}
				d.windows = append(d.windows, window{timeS: 20, distanceM: 20 * kmh / 3.6})
			}
			f.drives = append(f.drives, d)
		}
		return f
	}
	for _, c := range []struct {
		name string
		f    *driveFit
		says string
	}{
		{"enough", fitOf(6, 60.001, 49.9, 70.1, 2, 2), ""},
		{"few km", fitOf(6, 59.9, 49.9, 70.1, 2, 2), "fewer than 60"},
		{"few drives", fitOf(5, 70, 49.9, 70.1, 2, 2), "5 drives are fewer than 6"},
		{"little slow", fitOf(6, 70, 49.9, 70.1, 1, 2), "too little of slow"},
		{"little fast", fitOf(6, 70, 49.9, 70.1, 2, 1), "too little of slow"},
		{"not slow", fitOf(6, 70, 50.1, 70.1, 2, 2), "too little of slow"},
		{"not fast", fitOf(6, 70, 49.9, 69.9, 2, 2), "too little of slow"},
	} {
		if reason := c.f.fullReason(); c.says == "" && reason != "" || !strings.Contains(reason, c.says) {
			t.Errorf("%s: %q", c.name, reason)
		}
	}
}

// Five drives are groups of their own; fewer are cut into parts of 4 minutes,
// each at least one, of which six are needed. No window is lost or doubled.
func TestGroups(t *testing.T) {
	for _, c := range []struct {
		seconds []float64
		groups  int
		byTrip  bool
		sound   bool
	}{
		{[]float64{300, 300, 300, 300, 300}, 5, true, true},
		{[]float64{1440}, 6, false, true}, {[]float64{1439}, 5, false, false},
		{[]float64{1200, 200}, 6, false, true}, {[]float64{720, 480, 479}, 6, false, true},
	} {
		f := &driveFit{}
		windows := 0
		for _, s := range c.seconds {
			d := &drive{trip: &trip{timeS: s}}
			for k := range int(s / 20) {
				d.windows = append(d.windows, window{startS: 20 * float64(k), timeS: 20})
			}
			windows += len(d.windows)
			f.drives = append(f.drives, d)
		}
		sound := f.group()
		for _, g := range f.groups {
			windows -= len(g.windows)
		}
		if len(f.groups) != c.groups || f.byTrip != c.byTrip || sound != c.sound || windows != 0 {
			t.Errorf("%+v: %d groups, by trip %v, enough %v, %d windows lost", c, len(f.groups), f.byTrip, sound, windows)
		}
	}
	f := &driveFit{groups: []*drive{{trip: &trip{packC: 9.9}}, {trip: &trip{packC: 10}}, {trip: &trip{packC: -5}}, {trip: &trip{packC: math.NaN()}}}}
	near(t, "cold batteries", float64(f.coldGroups()), 2, 0)
	if left := without(f.groups, 1); len(left) != 3 || left[1] != f.groups[2] || f.groups[1].packC != 10 {
		t.Errorf("%v", left)
	}
}

// Windows of 20 s lie end to end; a rest counts from 10 s on.
func TestWindowsByHand(t *testing.T) {
	r, err := newRoad(builtIn(t, "small-hatch"), 20)
	if err != nil {
		t.Fatal(err)
	}
	for seconds, want := range map[int]int{9: 0, 10: 1, 20: 1, 29: 1, 30: 2, 40: 2} {
		run := make([]piece, seconds)
		for i := range run {
			run[i] = piece{timeS: 1, speedMS: 10, powerKW: 7.2, climateKW: 1.8}
		}
		got := r.windows(run, 100, builtIn(t, "small-hatch"))
		if len(got) != want {
			t.Errorf("%d s make %d windows", seconds, len(got))
		}
		for i, w := range got {
			near(t, "start", w.startS, 100+20*float64(i), 1e-9)
			near(t, "m", w.distanceM, 10*w.timeS, 1e-9)
			near(t, "kWh", w.measuredKWh, 0.002*w.timeS, 1e-12)
			near(t, "climate kWh", w.recordedKWh, 0.0005*w.timeS, 1e-12)
			near(t, "pieces", float64(len(w.work)), w.timeS, 0)
		}
	}
}

// Student's t at 97.5 %, as printed in any table of it.
func TestStudent(t *testing.T) {
	for freedom, want := range map[float64]float64{1: 12.706, 5: 2.571, 10: 2.228, 30: 2.042} {
		near(t, fmt.Sprint(freedom), student(freedom), want, 0.0005)
	}
}

// Huber's loss is smooth where its two forms meet, and its weight is the slope
// over the residual; the scale of a normal spread is its standard deviation.
func TestHuber(t *testing.T) {
	loss := func(x float64) float64 { return huberLoss([]float64{x}, 2) }
	for _, x := range []float64{0.1, 1, 2.68, 2.7, 5, -4} {
		slope := (loss(x+1e-6) - loss(x-1e-6)) / 2e-6
		want := x / 4
		if math.Abs(x) > 2*huberK {
			want = math.Copysign(huberK/2, x)
		}
		near(t, "slope", slope, want, 1e-6)
	}
	residual := []float64{-3, -1, -0.5, 0, 0.5, 1, 3}
	weight := make([]float64, len(residual))
	scale := weigh(weight, residual)
	near(t, "scale", scale, madToSigma, 1e-12) // the median of |r| is 1
	for i, r := range residual {
		want := 1.0
		if math.Abs(r) > huberK*scale {
			want = huberK * scale / math.Abs(r)
		}
		near(t, "weight", weight[i], want, 1e-12)
	}
	if weigh(weight, []float64{0, 0, 0, 0, 0, 0, 0}) <= 0 {
		t.Error("residuals of nothing have no scale")
	}
}

// The pull of a group on a mean: with every group of one measurement of equal
// weight, the bias-reduced sandwich is the usual variance of a mean, s²/n.
func TestInfluencesOfAMean(t *testing.T) {
	x := []float64{1, 4, 2, 8, 5}
	var mean, squares, variance float64
	for _, v := range x {
		mean += v / float64(len(x))
	}
	var known []*mat.SymDense
	var scores []*mat.VecDense
	for _, v := range x {
		squares += (v - mean) * (v - mean)
		known = append(known, mat.NewSymDense(1, []float64{1}))
		scores = append(scores, mat.NewVecDense(1, []float64{v - mean}))
	}
	pulls, ok := influences(known, scores)
	if !ok {
		t.Fatal("not determined")
	}
	for _, p := range pulls {
		variance += p.AtVec(0) * p.AtVec(0)
	}
	near(t, "variance of the mean", variance, squares/4/5, 1e-12)
	if _, ok := influences([]*mat.SymDense{mat.NewSymDense(1, []float64{0})}, scores[:1]); ok {
		t.Error("determined by nothing")
	}
	// Satterthwaite: five groups that know as much each have four degrees.
	f := &driveFit{known: known, free: []int{pAux}, groups: make([]*drive, 5)}
	near(t, "degrees of freedom", f.freedom(mat.NewVecDense(1, []float64{1})), 4, 1e-9)
	f.known = []*mat.SymDense{mat.NewSymDense(1, []float64{1000}), mat.NewSymDense(1, []float64{1})}
	near(t, "degrees of one group", f.freedom(mat.NewVecDense(1, []float64{1})), 1, 0)
}

// Predicted less measured in percent of the measured, or of 0.1 kWh where next
// to nothing was.
func TestChecksByHand(t *testing.T) {
	for _, c := range []struct{ predicted, measured, want float64 }{{11, 10, 10}, {9, 10, -10}, {0.05, 0, 50}, {0, -0.05, 50}, {-9, -10, 10}, {0.2, 0.1, 100}} {
		near(t, "%", off(c.predicted, c.measured), c.want, 1e-9)
	}
	c := newCheck([]float64{3, -9, 6}, 1.5)
	near(t, "mean absolute", c.MeanAbsolutePct, 6, 1e-12)
	near(t, "worst", c.WorstPct, -9, 0)
	near(t, "total", c.TotalPct, 1.5, 0)
}

// Bands of speed begin above their lower edge; a band of one window tells no
// spread and is left out.
func TestBandsByHand(t *testing.T) {
	d := &drive{trip: &trip{}}
	for _, w := range []struct{ kmh, kW float64 }{{0, 11}, {0.5, 13}, {1.5, 12}, {29, 14}, {60, 12}, {120, 15}, {200, 9}} {
		d.windows = append(d.windows, window{timeS: 20, distanceM: 20 * w.kmh / 3.6, measuredKWh: (w.kW + 1) * 20 / 3600, climateKWh: 1 * 20.0 / 3600})
	}
	f := &driveFit{th: theta{pAux: 10}, drives: []*drive{d}}
	got := f.bands()
	want := []Band{
		{FromKMH: 0, ToKMH: 1, Windows: 2, MeanKW: 2, ExpectedKW: 11, SpreadKW: math.Sqrt2},
		{FromKMH: 1, ToKMH: 30, Windows: 2, MeanKW: 3, ExpectedKW: 11, SpreadKW: math.Sqrt2},
		{FromKMH: 110, ToKMH: 400, Windows: 2, MeanKW: 2, ExpectedKW: 11, SpreadKW: 6 / math.Sqrt2},
	}
	if len(got) != len(want) {
		t.Fatalf("%+v", got)
	}
	for i := range want {
		g, w := got[i], want[i]
		if g.FromKMH != w.FromKMH || g.ToKMH != w.ToKMH || g.Windows != w.Windows {
			t.Errorf("%+v, want %+v", g, w)
		}
		near(t, "kW", g.MeanKW, w.MeanKW, 1e-9)
		near(t, "expected kW", g.ExpectedKW, w.ExpectedKW, 1e-9)
		near(t, "deviation", g.SpreadKW, w.SpreadKW, 1e-9)
	}
}

// Two terms by hand: exact figures come back, but for the pull towards 1, and
// neither falls below nothing.
func TestTwoTerms(t *testing.T) {
	a, b, w := []float64{1, 2, 3, 1}, []float64{2, 1, 0, 0}, []float64{1, 1, 2, 1}
	of := func(p, q float64) []float64 {
		var y []float64
		for i := range a {
			y = append(y, p*a[i]+q*b[i])
		}
		return y
	}
	for _, c := range []struct{ p, q, ridge, wantP, wantQ float64 }{{0.6, 1.4, 1e-9, 0.6, 1.4}, {3, 0.2, 1e-9, 3, 0.2}, {5, 7, 1e9, 1, 1}} {
		got := twoTerms(a, b, of(c.p, c.q), w, c.ridge)
		near(t, "steady", got.steady, c.wantP, 1e-6)
		near(t, "start", got.start, c.wantQ, 1e-6)
	}
	if got := twoTerms(a, b, of(-1, 2), w, 1e-9); got.steady != 0 || got.start <= 0 {
		t.Errorf("%+v", got)
	}
	if got := twoTerms(a, b, of(2, -1), w, 1e-9); got.start != 0 || got.steady <= 0 {
		t.Errorf("%+v", got)
	}
}

// The climate of five drives tells the model's two parts; that of four does
// not, and drives without a record do not count.
func TestFitCabin(t *testing.T) {
	model := cabin{steadyKW: 2, wholeKWh: 0.4}
	var drives []*drive
	for k := range 6 {
		d := &drive{trip: &trip{recorded: k != 2}, cabin: model}
		for i := range 10 * (k + 1) {
			from := 20 * float64(i)
			w := window{startS: from, timeS: 20, recordedKWh: model.kWh(from, from+20, cabinFit{0.7, 1.3})}
			if k == 2 {
				w.recordedKWh = 99
			}
			d.windows = append(d.windows, w)
		}
		drives = append(drives, d)
	}
	got, ok := fitCabin(drives)
	near(t, "steady", got.steady, 0.7, 0.02)
	near(t, "start", got.start, 1.3, 0.02)
	if !ok {
		t.Error("five drives are enough")
	}
	if got, ok := fitCabin(drives[1:]); ok || got != (cabinFit{1, 1}) {
		t.Errorf("four drives: %+v, %v", got, ok)
	}
}

// Power that is flat over 20 % of charge may be the station's.
func TestFlatPowerIsTold(t *testing.T) {
	told := func(kW ...float64) bool {
		var points []TaperPoint
		for i, x := range kW {
			points = append(points, TaperPoint{SoCPct: 11 + 2*float64(i), PowerKW: x})
		}
		return strings.Contains(strings.Join((&Taper{Points: points}).warnings(), "\n"), "station")
	}
	level := func(n int, kW float64) []float64 {
		out := make([]float64, n)
		for i := range out {
			out[i] = kW
		}
		return append(out, 20, 10)
	}
	if !told(level(11, 50)...) || told(level(10, 50)...) {
		t.Error("flat from 11 to 31 % is told, from 11 to 29 % not")
	}
	sloping := level(11, 50)
	sloping[0] = 50 / 0.969 // the first is the peak, the others below 97 % of it
	if told(sloping...) {
		t.Error("3.1 % lower is not flat")
	}
	sloping[0] = 50 / 0.971
	if !told(sloping...) {
		t.Error("2.9 % lower is flat")
	}
}

// A charge, row by row: the first minute ramps up, a pause and a gap count for
// nothing, and each bin of 2 % has its median.
func TestChargeRowByRow(t *testing.T) {
	row := func(s, kW, soc float64) *Sample { return &Sample{TimeS: s, PowerKW: -kW, SoC: soc} }
	for _, c := range []struct {
		name     string
		from, to *Sample
		kWh      float64
		bin      int // -1: none
	}{
		{"ramp", row(49, 40, 0.2), row(59, 40, 0.21), 40.0 / 360, -1},
		{"after the ramp", row(50, 40, 0.2), row(60, 40, 0.21), 40.0 / 360, 10},
		{"pause", row(100, 0.5, 0.3), row(110, 0.4, 0.3), 0, -1},
		{"trickle", row(100, 0.5, 0.3), row(110, 0.5, 0.3), 0.5 / 360, 15},
		{"longest step", row(100, 40, 0.3), row(160, 60, 0.32), 50.0 / 60, 15},
		{"gap", row(100, 40, 0.3), row(160.1, 60, 0.32), 0, -1},
		{"full", row(100, 5, 1), row(110, 5, 1.02), 5.0 / 360, 49},
		{"unknown", row(100, 5, math.NaN()), row(110, 5, 0.5), 0, -1},
	} {
		charge := &charge{bins: map[int]*bin{}, fromSoC: math.NaN()}
		charge.add(0, c.from, c.to)
		near(t, c.name+", kWh", charge.kWh, c.kWh, 1e-9)
		if b := charge.bins[c.bin]; (b != nil) != (c.bin >= 0) || len(charge.bins) > 1 {
			t.Errorf("%s: bins %v", c.name, charge.bins)
		} else if b != nil {
			near(t, c.name+", s", b.timeS, c.to.TimeS-c.from.TimeS, 1e-9)
			near(t, c.name+", kW", b.powers[0], c.kWh*3600/b.timeS, 1e-9)
			near(t, c.name+", from", charge.fromSoC, c.from.SoC, 0)
			near(t, c.name+", to", charge.toSoC, min(c.to.SoC, 1), 0)
		}
	}
	// 100 figures of a second are ten that count: 1.96·½/√10 is 0.31 to each
	// side of the middle.
	b := &bin{timeS: 100}
	for i := range 100 {
		b.powers = append(b.powers, float64(i))
	}
	p := b.point(10)
	near(t, "SoC", p.SoCPct, 21, 1e-9)
	near(t, "kW", p.PowerKW, 49.5, 0)
	near(t, "low", p.LowKW, 19, 0)
	near(t, "high", p.HighKW, 80, 0)
}

// Beyond what the charges show, the given car's shape goes on, scaled to join.
func TestCurveIsJoined(t *testing.T) {
	car := &energy.Car{Taper: taper.Curve{{SoC: 0, PowerKW: 50}, {SoC: 0.1, PowerKW: 100}, {SoC: 0.6, PowerKW: 100}, {SoC: 0.8, PowerKW: 50}, {SoC: 1, PowerKW: 10}}}
	f := &Taper{car: car, Points: []TaperPoint{{SoCPct: 20, PowerKW: 120}, {SoCPct: 40, PowerKW: 90}, {SoCPct: 70, PowerKW: 60}}}
	want := taper.Curve{{SoC: 0, PowerKW: 60}, {SoC: 0.1, PowerKW: 120}, {SoC: 0.2, PowerKW: 120}, {SoC: 0.4, PowerKW: 90}, {SoC: 0.7, PowerKW: 60}, {SoC: 0.8, PowerKW: 40}, {SoC: 1, PowerKW: 8}}
	got := f.curve()
	if len(got) != len(want) {
		t.Fatalf("%v, want %v", got, want)
	}
	for i := range want {
		near(t, "SoC", got[i].SoC, want[i].SoC, 1e-12)
		near(t, "kW", got[i].PowerKW, want[i].PowerKW, 1e-9)
	}
	near(t, "to a curve without power", ratio(5, 0), 1, 0)
}

// Text for a person says what was fitted and no more: a charge alone has no
// drives to speak of.
func TestTextOfOneKind(t *testing.T) {
	var out bytes.Buffer
	charge := &Result{CarName: "ours", Caution: caution, Taper: &Taper{Charges: 2, Points: []TaperPoint{{SoCPct: 21, PowerKW: 80, LowKW: 79, HighKW: 81}}}}
	if err := charge.WriteText(&out); err != nil {
		t.Fatal(err)
	}
	text := out.String()
	for _, want := range []string{"Fitted from ours", "Charging curve from 2 charges", "80.0", "79.0 to 81.0", caution} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	for _, other := range []string{"Spread", "Each drive", "Noted"} {
		if strings.Contains(text, other) {
			t.Errorf("%q in\n%s", other, text)
		}
	}
	out.Reset()
	drives := &Result{CarName: "ours", Caution: caution, Detail: Factor, DistanceKm: 120, TimeH: 2, Spread: &Spread{TripPct: 7, PiecePct: 9}, Trips: []TripCheck{{Name: "first", DistanceKm: 120}}, Recorded: &Check{}, Modelled: &Check{}, Warnings: []string{"of note"}}
	if err := drives.WriteText(&out); err != nil {
		t.Fatal(err)
	}
	text = out.String()
	for _, want := range []string{"1 drives, 120 km, 2.0 h: one factor on traction", "too few drives to see it", "predicted by the fit to all", "first", "Noted\n  of note", caution} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if strings.Contains(text, "Charging curve") || strings.Contains(text, "Heating and cooling") {
		t.Error(text)
	}
	for x, want := range map[float64]string{0: "0", 1234: "1234", 123.4: "123", 12.34: "12.3", 1.234: "1.23", 0.01234: "0.0123", -0.5: "-0.500", 1: "1.00", 999.6: "1000"} {
		if got := figure(x); got != want {
			t.Errorf("%v is written %s, want %s", x, got, want)
		}
	}
}
