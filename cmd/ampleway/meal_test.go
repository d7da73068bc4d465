package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ampleway/testdata"
)

const at8 = "2026-12-24T08:00"

// mealAnswer is what a trip with a meal says of it in JSON.
type mealAnswer struct {
	DepartAt    time.Time `json:"depart_at"`
	ArriveAt    time.Time `json:"arrive_at"`
	DurationMin float64   `json:"duration_min"`
	Stops       []struct {
		Station struct {
			Name      string   `json:"name"`
			Amenities []string `json:"there"`
		} `json:"station"`
		LeaveAt time.Time `json:"leave_at"`
		Meal    *struct {
			BeginAt   time.Time `json:"begin_at"`
			LeastMin  float64   `json:"least_min"`
			FoodKnown bool      `json:"food_known"`
			Text      string    `json:"text"`
		} `json:"meal"`
	} `json:"stops"`
	Proof struct {
		Proven bool   `json:"proven"`
		Text   string `json:"text"`
	} `json:"proof"`
	Risk struct {
		MealLatePct *float64 `json:"meal_late_pct"`
	} `json:"risk"`
}

func withMeal(t *testing.T, args ...string) (a mealAnswer) {
	t.Helper()
	code, out, errOut := ampleway(t, "", append([]string{"trip", "--format", "json"}, args...)...)
	if code != exitOK {
		t.Fatalf("%v: exit %d: %s", args, code, errOut)
	}
	if err := readDrive(out, &a); err != nil {
		t.Fatal(err)
	}
	return a
}

// A trip with a meal takes less than a second of processor time on a quiet
// machine, whatever it is best at; twice that where others slow it down; where
// very many do, the time says nothing. The meal is begun in its hours and lasts.
func TestAMealIsPlannedSoon(t *testing.T) {
	testdata.Sequential(t)
	noon, late := "12:00-13:30 30m", "16:30-17:30 45m"
	for _, args := range [][]string{
		{"--depart", at8, "--meal", late},
		{"--depart", at8, "--meal", late, "--best", "cost"},
		{"--depart", at8, "--meal", noon, "--best", "cost"},
		{"--depart", at8, "--meal", noon, "--best", "cost", "--confidence", "0"},
		{"--depart", at8, "--meal", noon, "--best", "balance", "--hour-worth", "10"},
		{"--depart", at8, "--meal", noon, "--best", "fewest-stops"},
		{"--arrive-by", "2026-12-24T18:00", "--meal", late},
		{"--arrive-by", "2026-12-24T18:00", "--meal", noon, "--best", "cost"},
	} {
		c := program(t, append([]string{"trip", "--format", "json"}, args...)...)
		out, err := c.Output()
		if err != nil {
			t.Errorf("%v: %v", args, err)
			continue
		}
		took := c.ProcessState.UserTime() + c.ProcessState.SystemTime()
		t.Logf("%v: %d ms", args, took.Milliseconds())
		switch load := loadAverage(t); {
		case testing.Short(): // such as under the race detector, which slows everything
		case took > 2*time.Second && load < 4, took > time.Second && load < 0.5:
			t.Errorf("%v: %s of processor time at a load of %.1f", args, took, load)
		}
		var a mealAnswer
		if err := readDrive(string(out), &a); err != nil {
			t.Errorf("%v: %v", args, err)
			continue
		}
		meals := 0
		for i := range a.Stops {
			m := a.Stops[i].Meal
			if m == nil {
				continue
			}
			meals++
			hours := strings.Split(strings.Fields(args[3])[0], "-")
			if clock := m.BeginAt.Format("15:04"); clock < hours[0] || clock > hours[1] {
				t.Errorf("%v: the meal begins at %s", args, clock)
			}
			if stay := a.Stops[i].LeaveAt.Sub(m.BeginAt).Minutes(); stay < m.LeastMin-0.02 {
				t.Errorf("%v: a meal of %.1f minutes", args, stay)
			}
		}
		if meals != 1 {
			t.Errorf("%v: %d meals", args, meals)
		}
	}
}

// loadAverage is the load of the last minute; 0 where it is not known.
func loadAverage(t *testing.T) (load float64) {
	text, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		t.Log(err)
		return 0
	}
	if _, err := fmt.Sscan(string(text), &load); err != nil {
		t.Fatal(err)
	}
	return load
}

// Where money counts nobody waits for hours to save a few cents, and whoever
// leaves a minute later than is proposed for a wanted arrival comes late.
func TestAMealIsWorthNoHours(t *testing.T) {
	testdata.Sequential(t)
	cost := withMeal(t, "--depart", at8, "--meal", "16:30-17:30 45m", "--best", "cost")
	if cost.DurationMin > 11*60 { // 888 where waiting costs nothing
		t.Errorf("%.0f minutes on the way", cost.DurationMin)
	}
	by := []string{"--meal", "12:00-13:30 30m", "--confidence", "0"}
	a := withMeal(t, append(by, "--arrive-by", "2026-12-24T18:00")...)
	later := withMeal(t, append(by, "--depart", a.DepartAt.Add(time.Minute).Format(time.RFC3339))...)
	if wanted := a.DepartAt.Truncate(24 * time.Hour).Add(18 * time.Hour); a.ArriveAt.After(wanted) || !later.ArriveAt.After(wanted) {
		t.Errorf("leaving at %s is there at %s, a minute later at %s", a.DepartAt, a.ArriveAt, later.ArriveAt)
	}
}

// mealRoad is a straight road of 500 km with two stations alike, a kilometre
// apart, whose amenities are given.
func mealRoad(t *testing.T, first, second string) []string {
	t.Helper()
	dir := t.TempDir()
	road, sites := filepath.Join(dir, "road.geojson"), filepath.Join(dir, "sites.csv")
	must(t, os.WriteFile(road, []byte(`{"type":"LineString","coordinates":[[10,50],[17,50]]}`), 0o644))
	must(t, os.WriteFile(sites, []byte("id,name,lon,lat,connector,power_kw,stalls,zone,amenities\n"+
		"a,Aldby Yard,13.6,50.001,CCS2,150,4,Europe/Berlin,"+first+"\n"+
		"b,Bramby Yard,13.614,50.001,CCS2,150,4,Europe/Berlin,"+second+"\n"), 0o644))
	return []string{"--route", road, "--stations", sites, "--car", "mid-size-sedan", "--depart", "2026-10-15T09:00:00+02:00", "--meal", "11:30-13:30 30m"}
}

// The meal is had where there is food, if that costs little, and every form
// says where it is; where no station has any, or the one that has is far from
// where the others are, that is said.
func TestTheMealIsWhereFoodIs(t *testing.T) {
	for _, c := range []struct{ first, second, at, says string }{
		{"toilets", "Restaurant;toilets", "Bramby Yard", "there is food"},
		{"FAST_FOOD", "toilets", "Aldby Yard", "there is food"},
		{"toilets", "picnic area", "", "No station on the way is known to have food"},
	} {
		ask := mealRoad(t, c.first, c.second)
		a := withMeal(t, ask...)
		for _, s := range a.Stops {
			if m := s.Meal; m == nil || c.at != "" && s.Station.Name != c.at || !strings.Contains(m.Text, c.says) || m.FoodKnown != (c.at != "") {
				t.Errorf("%+v: %+v", c, s)
			}
		}
		if len(a.Stops) != 1 {
			t.Errorf("%+v: %d stops", c, len(a.Stops))
		}
		for _, form := range []string{"text", "geojson", "gpx", "html"} {
			_, out, errOut := ampleway(t, "", append([]string{"trip", "--format", form}, ask...)...)
			for _, want := range []string{"The meal is here, from ", c.says} {
				if !strings.Contains(plain(out), want) {
					t.Errorf("%s lacks %q: %s", form, want, errOut)
				}
			}
		}
	}
	_, out, _ := ampleway(t, "", "trip", "--depart", at8, "--meal", "12:00-13:30 30m")
	if want := "a station that is known to have food is chosen where the meal there takes at most 5 minutes more"; !strings.Contains(plain(out), want) {
		t.Errorf("it does not say that %s", want)
	}
	if strings.Contains(plain(out), "from 12:11 to 12:41 or later. No food is known here") == strings.Contains(plain(out), "; there is food.") {
		t.Errorf("whether there is food is not said: %s", out)
	}
}

// Nobody is sent away from the meal before it is over, a fallback says that it
// has no meal, and how often the meal is late in simulated trips is counted.
func TestRulesKnowOfTheMeal(t *testing.T) {
	testdata.Sequential(t)
	ask := []string{"--depart", at8, "--meal", "12:00-13:30 30m"}
	_, out, _ := ampleway(t, "", append([]string{"trip"}, ask...)...)
	text := plain(out)
	for want, times := range map[string]int{"after the meal all the same": 1, "the meal begins after its hours": 1} {
		if n := strings.Count(text, want); n != times {
			t.Errorf("%q is said %d times in\n%s", want, n, out)
		}
	}
	if !strings.Contains(text, "the meal not counted") {
		t.Errorf("the fallbacks do not say that they leave the meal out:\n%s", out)
	}
	_, sheet, _ := ampleway(t, "", append([]string{"trip", "--format", "html"}, ask...)...)
	for _, want := range []string{"go on after the meal, with at least", "% after the meal all the same", "when the meal is over", "the meal begins after its hours"} {
		if !strings.Contains(plain(sheet), want) {
			t.Errorf("the sheet lacks %q", want)
		}
	}
	if a := withMeal(t, ask...); a.Risk.MealLatePct == nil || *a.Risk.MealLatePct > 5 {
		t.Errorf("late: %v", a.Risk.MealLatePct)
	}
	// Whoever has to charge longer than planned before it comes to a short
	// window too late, now and then.
	if a := withMeal(t, "--depart", at8, "--meal", "12:00-12:12 30m", "--temp", "-10"); a.Risk.MealLatePct == nil || *a.Risk.MealLatePct < 0 {
		t.Errorf("late: %v", a.Risk.MealLatePct)
	}
	if a := withMeal(t, "--depart", at8); a.Risk.MealLatePct != nil {
		t.Error("a meal that nobody asked for is late")
	}
}

// What is searched rather than proven is said, with what it may lack where that
// is known, in every form; what is proven is not called searched.
func TestSearchedIsNotProven(t *testing.T) {
	testdata.Sequential(t)
	hours := lonely(t, "Mo-Su 06:00-22:00")
	for i, c := range []struct {
		args []string
		says string // "": proven
	}{
		{[]string{"trip", "--confidence", "0"}, ""},
		{append(hours, "--confidence", "0"), ""},
		{[]string{"trip", "--depart", at8}, "searched for, not proven"},
		{[]string{"trip", "--depart", at8, "--meal", "12:00-13:30 30m"}, "searched for, not proven"},
		{[]string{"trip", "--depart", at8, "--meal", "12:00-13:30 30m", "--best", "cost"}, "not proven: none is better by more than"},
		{[]string{"trip", "--depart", at8, "--meal", "12:00-13:30 30m", "--best", "cost", "--confidence", "0"}, "not proven: none is better by more than"},
		{[]string{"trip", "--depart", at8, "--best", "balance", "--hour-worth", "10", "--confidence", "0"}, "not proven: none is better by more than"},
	} {
		code, out, errOut := ampleway(t, "", append(c.args, "--format", "json")...)
		var a mealAnswer
		if code != exitOK || readDrive(out, &a) != nil {
			t.Fatalf("%v: exit %d, %s", c.args, code, errOut)
		}
		if a.Proof.Proven != (c.says == "") || !strings.Contains(a.Proof.Text, c.says) {
			t.Errorf("%v: %+v", c.args, a.Proof)
		}
		if i%3 > 0 {
			continue // the other forms have the same sentence
		}
		for _, form := range []string{"text", "html"} {
			_, out, _ := ampleway(t, "", append(c.args, "--format", form)...)
			if text := plain(out); !strings.Contains(text, c.says) || c.says == "" && strings.Contains(text, "not proven") {
				t.Errorf("%v: %s does not say %q", c.args, form, c.says)
			}
		}
	}
}

// A visit, whose stay ties charging to the clock, is searched too; its bound holds
// the time of the stay, and is near enough to be told.
func TestAVisitIsSearchedNotProven(t *testing.T) {
	testdata.Sequential(t)
	for _, confidence := range []string{"0", "95"} {
		code, out, errOut := ampleway(t, "", "trip", "--back", "--stay", "6h level2:40", "--confidence", confidence, "--format", "json")
		if code != exitOK || !strings.Contains(out, "not proven: none is quicker by more than") || strings.Contains(out, `"proven": true`) {
			t.Errorf("at %s %%: exit %d, %s", confidence, code, errOut)
		}
		// What is open is a matter of charging: the hours of the stay are not in it.
		var openMin int
		if _, after, ok := strings.Cut(out, "none is quicker by more than "); ok {
			fmt.Sscanf(after, "%d minutes", &openMin)
		}
		if openMin < 1 || openMin > 60 {
			t.Errorf("at %s %%: open by %d minutes", confidence, openMin)
		}
	}
}

// Where the work that is allowed ends before there is a plan, that is what is
// said, not that the trip cannot be made: here the stations that the last part
// needs are shut until July.
func TestGivenUpIsNotImpossible(t *testing.T) {
	dir := t.TempDir()
	road := filepath.Join(dir, "road.geojson")
	must(t, os.WriteFile(road, []byte(`{"type":"LineString","coordinates":[[10,50],[18,50],[28.13,50]]}`), 0o644))
	sites := written(t, filepath.Join(dir, "sites.csv"), func(b *strings.Builder) {
		fmt.Fprintln(b, "id,name,lon,lat,connector,power_kw,stalls,zone,hours")
		const degreesKM = 1 / 71.7
		for i := range 150 {
			fmt.Fprintf(b, "a%d,Yard %d,%.5f,%.4f,CCS2,%d,4,Europe/Berlin,Mo-Su 00:00-%02d:%02d\n", i, i, 10+float64(60+3*i)*degreesKM, 50.001+0.0001*float64(i%7), 50+i*37%250, 20+i%4, i*7%60)
		}
		for i := range 3 {
			fmt.Fprintf(b, "z%d,Summer Yard %d,%.5f,50.001,CCS2,150,4,Europe/Berlin,Jul 06:00-09:00\n", i, i, 10+float64(850+10*i)*degreesKM)
		}
	})
	code, out, errOut := ampleway(t, "", "trip", "--route", road, "--stations", sites, "--car", "mid-size-sedan", "--depart", "2026-10-15T08:30:00+02:00", "--confidence", "0")
	if code != exitFailed || out != "" || !strings.Contains(errOut, "given up after the allowed work; no plan found, which does not mean there is none") {
		t.Errorf("exit %d, %q, %s", code, out, errOut)
	}
	if strings.Contains(errOut, "cannot be") {
		t.Errorf("it is called impossible: %s", errOut)
	}
}
