package owner

import (
	"strings"
	"testing"

	"ampleway/energy"
)

func TestAskTakesAnswersAndAsksAgain(t *testing.T) {
	var f energy.OwnerFigures
	var asked strings.Builder
	answers := "our car\nsixty\n64,5\n1800\n\n-3\n18.2\n105\n34\n"
	if err := Ask(strings.NewReader(answers), &asked, &f, false); err != nil {
		t.Fatal(err)
	}
	want := energy.OwnerFigures{Name: "our car", UsableKWh: 64.5, MassKg: 1800, OutletKWhPer100km: 18.2, PeakKW: 105, Minutes10to80: 34}
	if f != want {
		t.Errorf("got %+v", f)
	}
	if n := strings.Count(asked.String(), "is not a number above 0"); n != 2 {
		t.Errorf("asked again %d times, want 2:\n%s", n, asked.String())
	}
}

func TestAskOnlyForWhatIsMissing(t *testing.T) {
	f := energy.OwnerFigures{Name: "our car", UsableKWh: 64, MassKg: 1800, RangeKm: 400}
	var asked strings.Builder
	if err := Ask(strings.NewReader("\n"), &asked, &f, true); err != nil {
		t.Fatal(err)
	}
	if got := asked.String(); got != "peak DC charging power, kW (empty if unknown): " {
		t.Errorf("asked %q", got)
	}
}

func TestAskInUSUnits(t *testing.T) {
	f := energy.OwnerFigures{Name: "our car", UsableKWh: 64}
	if err := Ask(strings.NewReader("4000\n250\n\n"), &strings.Builder{}, &f, true); err != nil {
		t.Fatal(err)
	}
	if f.MassKg != 4000*0.45359237 || f.RangeKm != 250*1.609344 {
		t.Errorf("got %+v", f)
	}
}

func TestAskSaysWhenTheAnswersEnd(t *testing.T) {
	f := energy.OwnerFigures{Name: "our car"}
	if err := Ask(strings.NewReader(""), &strings.Builder{}, &f, false); err == nil || !strings.Contains(err.Error(), "usable") {
		t.Errorf("error %v", err)
	}
}
