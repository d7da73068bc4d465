package fit_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"ampleway/data/fault"
	"ampleway/energy/fit"
)

func read(t *testing.T, in string, opt fit.LogOptions) *fit.Log {
	t.Helper()
	l, err := fit.ReadLog(strings.NewReader(in), "log.csv", opt)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestReadLogNamesAndUnits(t *testing.T) {
	plain := read(t, "time_s,speed_kmh,elevation_m,battery_v,battery_a,soc_pct,heating_kw,aircon_kw,ambient_c,battery_temp_c\n1,36,100,400,-25,50,1.5,0.5,20,25\n", fit.LogOptions{}).Samples[0]
	want := fit.Sample{TimeS: 1, SpeedMS: 10, ElevationM: 100, PowerKW: 10, SoC: 0.5, HeatKW: 1.5, CoolKW: 0.5, AmbientC: 20, PackTempC: 25}
	near(t, plain, want)
	other := read(t, "\ufeffAmbient Temp [F],Time (ms),Vehicle Speed m/s,Altitude ft,Power [W],State of Charge (percent),Heater W,Air-Conditioning W,Pack Temp F,Mood\n68,1000,10,328.0839895,10000,50,1500,500,77,fine\n", fit.LogOptions{DischargePositive: true}).Samples[0]
	near(t, other, want)
}

func near(t *testing.T, got, want fit.Sample) {
	t.Helper()
	for _, p := range [][2]float64{
		{got.TimeS, want.TimeS}, {got.SpeedMS, want.SpeedMS}, {got.ElevationM, want.ElevationM}, {got.PowerKW, want.PowerKW}, {got.SoC, want.SoC},
		{got.HeatKW, want.HeatKW}, {got.CoolKW, want.CoolKW}, {got.AmbientC, want.AmbientC}, {got.PackTempC, want.PackTempC},
	} {
		if math.Abs(p[0]-p[1]) > 1e-6 {
			t.Errorf("got %+v\nwant %+v", got, want)
			return
		}
	}
}

func TestReadLogDirt(t *testing.T) {
	l := read(t, "time_s,speed_kmh,battery_kw\n0,10,-1\n0,11,-1\n1,,\n2,5000,nan\n-5,1,1\n3,-0.2,-2\n", fit.LogOptions{})
	if len(l.Samples) != 4 || len(l.Warnings) != 2 {
		t.Fatalf("%+v", l)
	}
	if s := l.Samples[1]; !math.IsNaN(s.SpeedMS) || !math.IsNaN(s.PowerKW) {
		t.Errorf("blank is not recorded: %+v", s)
	}
	if s := l.Samples[2]; !math.IsNaN(s.SpeedMS) {
		t.Errorf("5,000 km/h is not recorded: %+v", s)
	}
	if s := l.Samples[3]; s.SpeedMS != 0 || s.PowerKW != 2 {
		t.Errorf("%+v", s)
	}
}

// Figures up to what a car can have are kept, those beyond count as not
// recorded and are told, whatever the unit.
func TestReadLogRanges(t *testing.T) {
	for _, c := range []struct {
		header    string
		low, high float64
		per       float64 // of the sample's unit
		get       func(s *fit.Sample) float64
	}{
		{"elevation_m", -500, 9000, 1, func(s *fit.Sample) float64 { return s.ElevationM }},
		{"elevation_ft", -1640, 29527, 0.3048, func(s *fit.Sample) float64 { return s.ElevationM }},
		{"battery_kw", -2000, 2000, -1, func(s *fit.Sample) float64 { return s.PowerKW }},
		{"battery_w", -2e6, 2e6, -1e-3, func(s *fit.Sample) float64 { return s.PowerKW }},
		{"soc_pct", 0, 105, 0.01, func(s *fit.Sample) float64 { return s.SoC }},
		{"ambient_c", -60, 60, 1, func(s *fit.Sample) float64 { return s.AmbientC }},
		{"battery_temp_c", -60, 90, 1, func(s *fit.Sample) float64 { return s.PackTempC }},
		{"heating_kw", 0, 30, 1, func(s *fit.Sample) float64 { return s.HeatKW }},
		{"aircon_kw", 0, 30, 1, func(s *fit.Sample) float64 { return s.CoolKW }},
		{"speed_ms", 0, 100, 1, func(s *fit.Sample) float64 { return s.SpeedMS }},
		{"speed_kmh", 0, 360, 1 / 3.6, func(s *fit.Sample) float64 { return s.SpeedMS }},
		{"speed_mph", 0, 223.69, 0.44704, func(s *fit.Sample) float64 { return s.SpeedMS }},
	} {
		beyond := []float64{1.001 * c.low, 1.001 * c.high}
		if c.low == 0 {
			beyond[0] = -5 // a little below 0 counts as 0
		}
		in := "time_s," + c.header + "\n"
		for i, x := range append([]float64{c.low, c.high}, beyond...) {
			in += fmt.Sprintf("%d,%v\n", i, x)
		}
		l := read(t, in, fit.LogOptions{})
		for i, x := range []float64{c.low, c.high} {
			if got := c.get(&l.Samples[i]); math.Abs(got-c.per*x) > 1e-9*math.Abs(x) {
				t.Errorf("%s %v is read as %v", c.header, x, got)
			}
		}
		for i, x := range beyond {
			if got := c.get(&l.Samples[2+i]); !math.IsNaN(got) {
				t.Errorf("%s %v is believed: %v", c.header, x, got)
			}
		}
		if len(l.Warnings) != 1 || !strings.Contains(l.Warnings[0], "2 figures of "+c.header) {
			t.Errorf("%s: %q", c.header, l.Warnings)
		}
	}
	// A pack between 20 and 1,500 V at up to 3,000 A either way.
	l := read(t, "time_s,battery_v,battery_a\n0,20,-3000\n1,1500,3000\n2,19,10\n3,1501,10\n4,400,-3001\n5,400,3001\n", fit.LogOptions{})
	for i, want := range []float64{60, -4500, math.NaN(), math.NaN(), math.NaN(), math.NaN()} {
		if got := l.Samples[i].PowerKW; math.IsNaN(want) != math.IsNaN(got) || math.Abs(got-want) > 1e-9 {
			t.Errorf("row %d: %v kW, want %v", i, got, want)
		}
	}
}

func TestReadLogFaults(t *testing.T) {
	for _, c := range []struct{ name, in, where, field string }{
		{"empty", "", "", ""},
		{"no time", "speed_kmh\n1\n", "line 1", ""},
		{"word", "time_s,speed_kmh\n0,1\n1,fast\n", "line 3", "speed_kmh"},
		{"short row", "time_s,speed_kmh\n0\n", "line 2", ""},
		{"quote", "time_s,speed_kmh\n0,\"1\n", "line 2", ""},
	} {
		_, err := fit.ReadLog(strings.NewReader(c.in), "log.csv", fit.LogOptions{})
		var in *fault.Input
		if !errors.As(err, &in) || in.File != "log.csv" || in.Where != c.where || in.Field != c.field || in.Expected == "" {
			t.Errorf("%s: %#v", c.name, err)
		}
	}
}

func FuzzReadLog(f *testing.F) {
	f.Add("time_s,speed_kmh,battery_v,battery_a\n0,1,400,-2\n1,2,400,-3\n")
	f.Add("time_ms,speed_mph,power_w,soc_pct,ambient_f\n0,1,4,50,\n10,,nan,51,70\n")
	f.Add("time_s,speed_kmh,battery_kw,heating_kw\n1e300,1e300,-1e9,\n,,,\n")
	f.Fuzz(func(t *testing.T, in string) {
		l, err := fit.ReadLog(strings.NewReader(in), "fuzz.csv", fit.LogOptions{})
		if err != nil {
			var bad *fault.Input
			if !errors.As(err, &bad) {
				t.Fatalf("%T %v", err, err)
			}
			return
		}
		last := math.Inf(-1)
		for _, s := range l.Samples {
			if !(s.TimeS > last) || s.SpeedMS < 0 || math.IsInf(s.PowerKW, 0) {
				t.Fatalf("%+v after %v", s, last)
			}
			last = s.TimeS
		}
		_, err = fit.Fit([]*fit.Log{l}, hatch(t), fit.Options{})
		var refusal *fit.CannotTell
		if err != nil && !errors.As(err, &refusal) && !errors.As(err, new(*fault.Input)) {
			t.Fatalf("%T %v", err, err)
		}
	})
}
