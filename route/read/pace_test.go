package read_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"ampleway/route"
	"ampleway/route/earth"
	"ampleway/route/read"
)

var start = time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)

// recording is a drive due north, sampled by a receiver.
type recording struct {
	text  bytes.Buffer
	noise *rand.Rand
	atM   float64
	atS   float64
}

func newRecording() *recording {
	r := &recording{noise: rand.New(rand.NewPCG(12, 13))}
	r.text.WriteString("<gpx><trk><trkseg>\n")
	return r
}

// drive goes on for some time at a speed, with a sample every stepS seconds
// and a position noise of noiseM metres standard deviation either way.
func (r *recording) drive(forS, speedMS, stepS, noiseM float64) {
	for t := 0.0; t < forS; t += stepS {
		r.sample(noiseM*r.noise.NormFloat64(), noiseM*r.noise.NormFloat64())
		r.atM += speedMS * stepS
		r.atS += stepS
	}
}

// sample writes a position off the true one.
func (r *recording) sample(eastM, northM float64) {
	perLonM, perLatM := earth.DegreeM(45)
	fmt.Fprintf(&r.text, "<trkpt lat=\"%.8f\" lon=\"%.8f\"><time>%s</time></trkpt>\n",
		45+(r.atM+northM)/perLatM, 7+eastM/perLonM,
		start.Add(time.Duration(r.atS*1e9)).Format(time.RFC3339Nano))
}

func (r *recording) read(t *testing.T) *route.Route {
	t.Helper()
	return parse(t, r.text.String()+"</trkseg></trk></gpx>", read.Options{})
}

// drivingS is the time the speeds of a route take.
func drivingS(t *testing.T, r *route.Route) float64 {
	t.Helper()
	sum := 0.0
	for i, s := range r.Steps(route.StepOptions{}) {
		if r.Point(i).SpeedMS == 0 {
			t.Fatalf("piece %d of %.1f m has no speed", i, s.LengthM)
		}
		sum += s.LengthM / s.SpeedMS
	}
	return sum
}

func TestSpeedsFromTimes(t *testing.T) {
	rec := newRecording()
	rec.drive(300, 14, 1, 0)
	rec.drive(300, 28, 1, 0)
	rec.drive(60, 28, 7, 0)
	r := rec.read(t)
	for i, p := range r.All() {
		s := r.ChainageM(i)
		switch {
		case i == r.Len()-1:
		case s < 14*290 && math.Abs(p.SpeedMS-14) > 0.1, s > 14*300+28*10 && math.Abs(p.SpeedMS-28) > 0.1:
			t.Errorf("at %.0f m: %.2f m/s", s, p.SpeedMS)
		}
	}
	if got, want := drivingS(t, r), 600.0+56; math.Abs(got-want) > 1.5 {
		t.Errorf("takes %.1f s, recorded %.0f s", got, want)
	}
}

// A 20 minute stop with a receiver that wanders adds neither driving time nor
// distance, and the speeds either side of it stay.
func TestPausesAreNotDriving(t *testing.T) {
	rec := newRecording()
	rec.drive(600, 25, 1, 0.5)
	eastM, northM := 0.0, 0.0
	for range 1200 { // a slow random walk about the parking place
		eastM, northM = 0.95*eastM+0.4*rec.noise.NormFloat64(), 0.95*northM+0.4*rec.noise.NormFloat64()
		rec.sample(eastM, northM)
		rec.atS++
	}
	rec.drive(600, 25, 1, 0.5)
	r := rec.read(t)
	if got := drivingS(t, r); math.Abs(got-1200) > 30 {
		t.Errorf("takes %.0f s, driven 1200 s", got)
	}
	if math.Abs(r.LengthM()/(1200*25)-1) > 0.01 {
		t.Errorf("is %.0f m long, driven %d m", r.LengthM(), 1200*25)
	}
	if notes := strings.Join(r.Notes, "\n"); !strings.Contains(notes, "Pauses on track 1 segment 1 not counted as driving: 1, in all 20 min") {
		t.Errorf("notes %q", notes)
	}
}

// A pause between two sparse samples is one too.
func TestPauseBetweenTwoSamples(t *testing.T) {
	rec := newRecording()
	rec.drive(300, 20, 10, 0)
	rec.sample(0, 0)
	rec.atS += 3600
	rec.drive(310, 20, 10, 0)
	if got := drivingS(t, rec.read(t)); math.Abs(got-600) > 1 {
		t.Errorf("takes %.0f s, driven 600 s", got)
	}
}

// Speeds that change all the time, and noise, leave the driving time what it
// was.
func TestDrivingTimeIsKept(t *testing.T) {
	rec := newRecording()
	for i := range 60 {
		rec.drive(13, 8+float64(i*7%30), 1, 0.7)
	}
	r := rec.read(t)
	if got := drivingS(t, r); math.Abs(got-(60*13-1)) > 1e-6 {
		t.Errorf("takes %.6f s, recorded %d s", got, 60*13-1)
	}
}

// A tight circle at 6 m/s comes back to where it was within 20 s, but is
// driving.
func TestCirclingIsDriving(t *testing.T) {
	rec := newRecording()
	rec.drive(60, 15, 1, 0)
	const radiusM, circlingMS = 10.0, 6.0
	for i := range 100 {
		angle := float64(i) * circlingMS / radiusM
		rec.sample(radiusM*(1-math.Cos(angle)), radiusM*math.Sin(angle))
		rec.atS++
	}
	rec.drive(60, 15, 1, 0)
	r := rec.read(t)
	if notes := strings.Join(r.Notes, "\n"); strings.Contains(notes, "Pauses") {
		t.Errorf("notes %q", notes)
	}
	if got := drivingS(t, r); math.Abs(got-219) > 1e-6 {
		t.Errorf("takes %.0f s, recorded 219 s", got)
	}
}

// Noise of 1 m either way on positions taken every second makes single
// speeds wrong by 1.4 m/s (standard deviation); the mean over 10 s is right
// within 1 m/s.
func TestNoiseIsAveraged(t *testing.T) {
	rec := newRecording()
	rec.drive(1800, 30, 1, 1)
	r := rec.read(t)
	var sum, worst float64
	for i, p := range r.All() {
		if i == r.Len()-1 {
			break
		}
		sum += p.SpeedMS
		worst = math.Max(worst, math.Abs(p.SpeedMS-30))
	}
	mean := sum / float64(r.Len()-1)
	t.Logf("mean %.2f m/s, worst off by %.2f m/s, %.0f m for %d m", mean, worst, r.LengthM(), 1799*30)
	if math.Abs(mean-30) > 0.2 || worst > 1 {
		t.Errorf("mean %.2f m/s, worst off by %.2f m/s", mean, worst)
	}
}

func TestStrayPositionsAreLeftOut(t *testing.T) {
	for name, at := range map[string]int{"first": 0, "inside": 250, "last": 499} {
		t.Run(name, func(t *testing.T) {
			rec := newRecording()
			for i := range 500 {
				if i == at {
					rec.sample(30_000, 0)
				} else {
					rec.sample(0, 0)
				}
				rec.atM += 20
				rec.atS++
			}
			r := rec.read(t)
			if r.LengthM() > 500*20 {
				t.Errorf("%.0f m long, driven %d m", r.LengthM(), 500*20)
			}
			if notes := strings.Join(r.Notes, "\n"); !strings.Contains(notes, "Stray positions left out on track 1 segment 1, as they would need more than 70 m/s: 1") {
				t.Errorf("notes %q", notes)
			}
		})
	}
}

func TestUnusableTimes(t *testing.T) {
	for _, test := range []struct {
		name           string
		speedMS, stepS float64
		want           string
	}{
		{"too fast", 300, 1, "not used for speeds: they would need 300 m/s"},
		{"standing all the way", 0.5, 30, "not used for speeds: by them the car stands most of the way"},
	} {
		t.Run(test.name, func(t *testing.T) {
			rec := newRecording()
			rec.drive(100*test.stepS, test.speedMS, test.stepS, 0)
			r := rec.read(t)
			if notes := strings.Join(r.Notes, "\n"); !strings.Contains(notes, test.want) {
				t.Errorf("notes %q, want %q", notes, test.want)
			}
			for i, p := range r.All() {
				if p.SpeedMS != 0 {
					t.Fatalf("point %d has the speed %g", i, p.SpeedMS)
				}
			}
			if r.Len() != 100 {
				t.Errorf("%d points of 100 kept", r.Len())
			}
		})
	}
}

// Only some points have a time: the pieces between two of them share a speed,
// those outside have none.
func TestTimesOfSomePoints(t *testing.T) {
	r := parse(t, `<gpx><rte>
	<rtept lat="45" lon="7"/>
	<rtept lat="45.01" lon="7"><time>2026-03-01T08:00:00</time></rtept>
	<rtept lat="45.02" lon="7"/>
	<rtept lat="45.03" lon="7"><time>2026-03-01T09:01:40.5+01:00</time></rtept>
	<rtept lat="45.04" lon="7"/></rte></gpx>`, read.Options{})
	want := (r.ChainageM(3) - r.ChainageM(1)) / 100.5
	for i, w := range []float64{0, want, want, 0, 0} {
		if got := r.Point(i).SpeedMS; math.Abs(got-w) > 1e-9 {
			t.Errorf("piece %d: %.3f m/s, want %.3f", i, got, w)
		}
	}
}
