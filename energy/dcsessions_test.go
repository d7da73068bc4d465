package energy

import (
	"encoding/csv"
	"math"
	"os"
	"sort"
	"strconv"
	"testing"

	"ampleway/energy/taper"
	"ampleway/testdata"

	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/stat"
)

// dcSession is one row of the DESL-EPFL Level-3 EV charging dataset (MIT).
// Energy and peak power are on the AC side; the battery side is 0.95 of them,
// the share with which the dataset derives its capacity column.
type dcSession struct {
	stayMin, acKWh, peakKW, capacityKWh float64
	fromSoC, toSoC                      float64
	limited                             bool
}

func readDCSessions(t testing.TB) []dcSession {
	t.Helper()
	f, err := os.Open(testdata.OpenData(t, "sessions", "dc-sessions.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	var out []dcSession
	for _, row := range rows[1:] {
		get := func(name string) float64 {
			x, err := strconv.ParseFloat(row[column[name]], 64)
			if err != nil {
				t.Fatal(err)
			}
			return x
		}
		out = append(out, dcSession{
			stayMin: get("Stay (min)"), acKWh: get("Energy (Wh)") / 1000, peakKW: get("Pmax (W)") / 1000,
			capacityKWh: get("Energy capacity (Wh)") / 1000, fromSoC: get("SOC arrival") / 100, toSoC: get("SOC departure") / 100,
			limited: get("Controlled session (0=False, 1=True)") == 1,
		})
	}
	return out
}

func unlimited(all []dcSession) []dcSession {
	var out []dcSession
	for _, s := range all {
		if !s.limited {
			out = append(out, s)
		}
	}
	return out
}

// minutes is the stay a taper shape predicts. The recorded peak is the highest
// power of that session, which a falling taper has at its start; so the shape
// is raised until it has the recorded peak there.
func (s dcSession) minutes(t testing.TB, shape taperShape, setupS float64) float64 {
	curve := shape.curve(1, 1)
	curve = curve.Scale(GridEfficiency * s.peakKW / curve.PowerKW(s.fromSoC))
	f, err := taper.New(curve, s.capacityKWh)
	if err != nil {
		t.Fatal(err)
	}
	return (f.TimeS(s.fromSoC, s.toSoC) + setupS) / 60
}

// fitShape finds the shape and the set-up time with the least mean absolute
// logarithm of predicted over recorded minutes.
func fitShape(t testing.TB, sessions []dcSession) (taperShape, float64) {
	t.Helper()
	problem := optimize.Problem{Func: func(x []float64) float64 {
		shape := taperShape{math.Abs(x[0]), math.Abs(x[1]), math.Abs(x[2]) + 1e-3}
		var sum float64
		for _, s := range sessions {
			sum += math.Abs(math.Log(s.minutes(t, shape, 60*math.Abs(x[3])) / s.stayMin))
		}
		return sum / float64(len(sessions))
	}}
	r, err := optimize.Minimize(problem, []float64{0.9, 0.6, 0.1, 2}, &optimize.Settings{MajorIterations: 400}, &optimize.NelderMead{})
	if err != nil {
		t.Fatal(err)
	}
	return taperShape{math.Abs(r.X[0]), math.Abs(r.X[1]), math.Abs(r.X[2]) + 1e-3}, 60 * math.Abs(r.X[3])
}

// sessionScore compares predictions with records as a table.
type sessionScore struct {
	worstBand, medianError float64
}

func scoreSessions(t *testing.T, title string, sessions []dcSession, predicted []float64) sessionScore {
	t.Helper()
	bands := []struct {
		name     string
		from, to float64
	}{{"below 60", 0, 0.6}, {"60-70", 0.6, 0.7}, {"70-80", 0.7, 0.8}, {"80-90", 0.8, 0.9}, {"90 and over", 0.9, 1.1}}
	var score sessionScore
	t.Logf("%s: energy-weighted mean power over peak power (AC side over AC side)", title)
	for _, b := range bands {
		var n int
		var weight, recorded, model float64
		for i, s := range sessions {
			if s.toSoC < b.from || s.toSoC >= b.to {
				continue
			}
			n++
			weight += s.acKWh
			recorded += s.acKWh * s.acKWh / (s.stayMin / 60) / s.peakKW
			model += s.acKWh * s.acKWh / (predicted[i] / 60) / s.peakKW
		}
		t.Logf("  leaving at %-11s %%  %3d sessions  recorded %.3f  predicted %.3f  difference %+.3f", b.name, n, recorded/weight, model/weight, (model-recorded)/weight)
		score.worstBand = max(score.worstBand, math.Abs(model-recorded)/weight)
	}
	var errors []float64
	for i, s := range sessions {
		if s.stayMin > 10 && s.toSoC-s.fromSoC >= 0.1-1e-9 {
			errors = append(errors, math.Abs(predicted[i]/s.stayMin-1))
		}
	}
	sort.Float64s(errors)
	score.medianError = stat.Quantile(0.5, stat.Empirical, errors, nil)
	t.Logf("  minutes of the %d stays over 10 min with 10 %% gained: median error %.1f %%, 90 %% within %.1f %%", len(errors), 100*score.medianError, 100*stat.Quantile(0.9, stat.Empirical, errors, nil))
	return score
}

func (s sessionScore) check(t *testing.T) {
	t.Helper()
	if s.worstBand > 0.05 {
		t.Errorf("a band of departure SoC is off by %.3f, more than 0.05", s.worstBand)
	}
	if s.medianError > 0.13 {
		t.Errorf("median error of the minutes is %.1f %%, more than 13 %%", 100*s.medianError)
	}
}

func predict(t testing.TB, sessions []dcSession, shape taperShape, setupS float64) []float64 {
	out := make([]float64, len(sessions))
	for i, s := range sessions {
		out[i] = s.minutes(t, shape, setupS)
	}
	return out
}

// Sessions not limited by the site, DESL-EPFL Level-3 EV charging dataset.
func TestCommonTaperPredictsRecordedSessions(t *testing.T) {
	all := readDCSessions(t)
	for _, s := range all {
		if share := s.capacityKWh * (s.toSoC - s.fromSoC) / s.acKWh; math.Abs(share-GridEfficiency) > 1e-9 {
			t.Fatalf("the dataset's battery side is %.4f of its AC side, not %.2f", share, GridEfficiency)
		}
	}
	sessions := unlimited(all)
	scoreSessions(t, "common shape", sessions, predict(t, sessions, commonShape, SessionSetupS)).check(t)
	scoreSessions(t, "for comparison, without the 3 minutes of set-up", sessions, predict(t, sessions, commonShape, 0))
	scoreSessions(t, "for comparison, peak power all the way", sessions, predict(t, sessions, taperShape{1, 1, 1}, SessionSetupS))
}

// The shape is fitted again, then each session is predicted by a shape that
// has not seen it.
func TestCommonTaperIsNotOverfitted(t *testing.T) {
	sessions := unlimited(readDCSessions(t))
	shape, setupS := fitShape(t, sessions)
	t.Logf("fit on all: mid %.3f high %.3f end %.3f, set-up %.0f s", shape.mid, shape.high, shape.end, setupS)
	for _, pair := range [][2]float64{{shape.mid, commonShape.mid}, {shape.high, commonShape.high}, {shape.end, commonShape.end}, {setupS / 1000, SessionSetupS / 1000.0}} {
		if math.Abs(pair[0]-pair[1]) > 0.04 {
			t.Errorf("fitted %.3f, stated %.3f", pair[0], pair[1])
		}
	}
	halves := [2][]dcSession{}
	for i, s := range sessions {
		halves[i%2] = append(halves[i%2], s)
	}
	unseen := make([]float64, len(sessions))
	for h := range halves {
		shape, setupS := fitShape(t, halves[h])
		t.Logf("fit on half %d: mid %.3f high %.3f end %.3f, set-up %.0f s", h+1, shape.mid, shape.high, shape.end, setupS)
		for i, s := range sessions {
			if i%2 != h {
				unseen[i] = s.minutes(t, shape, setupS)
			}
		}
	}
	scoreSessions(t, "each half predicted by the fit on the other", sessions, unseen).check(t)
}

// At a fast charger most of the energy lands within the first half hour
// (common practice), here for the recorded stays of over half an hour. The
// records have no time series: even power gives a lower bound where power
// falls, the common taper an estimate.
func TestFirstHalfHourOfRecordedSessions(t *testing.T) {
	var even, tapered, total float64
	n := 0
	for _, s := range unlimited(readDCSessions(t)) {
		if s.stayMin <= 30 {
			continue
		}
		n++
		curve := commonShape.curve(1, 1)
		curve = curve.Scale(GridEfficiency * s.peakKW / curve.PowerKW(s.fromSoC))
		f, err := taper.New(curve, s.capacityKWh)
		if err != nil {
			t.Fatal(err)
		}
		share := (f.SoCAfter(s.fromSoC, 30*60-SessionSetupS) - s.fromSoC) / (s.toSoC - s.fromSoC)
		tapered += s.acKWh * min(share, 1)
		even += s.acKWh * 30 / s.stayMin
		total += s.acKWh
	}
	t.Logf("%d stays over 30 min: energy of the first half hour at least %.0f %% (even power), %.0f %% with the common taper", n, 100*even/total, 100*tapered/total)
	if even/total <= 0.5 || tapered < even {
		t.Errorf("the first half hour has %.2f of the energy at least, %.2f with the taper", even/total, tapered/total)
	}
}
