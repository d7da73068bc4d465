package main

import (
	"ampleway/cmd/ampleway/internal/answer"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ampleway/data/cars"
	"ampleway/energy"
)

// ownYear writes an invented household with all it needs: two roads over open
// water in the South Atlantic, stations along them, a car file, tariff and
// climate. change alters the file of households before it is written.
func ownYear(t *testing.T, change ...string) (folder, households string) {
	t.Helper()
	folder = t.TempDir()
	write := func(name, text string) { must(t, os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644)) }
	sites := "id,name,lon,lat,connector,power_kw,stalls,currency,per_kwh\n"
	for name, lat := range map[string]float64{"lake": -31, "coast": -33} {
		gpx := `<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>` + name + ` road</name><trkseg>`
		for i := range 401 {
			lon := -20 + float64(i)*0.01
			gpx += fmt.Sprintf(`<trkpt lat="%g" lon="%.2f"><ele>%.0f</ele></trkpt>`, lat, lon, 40+30*math.Sin(float64(i)/9))
			if i%50 == 25 {
				sites += fmt.Sprintf("%s%d,%s %d,%.2f,%.3f,CCS2,150,4,USD,0.49\n", name, i, name, i, lon, lat+0.002)
			}
		}
		write(name+".gpx", gpx+"</trkseg></trk></gpx>")
	}
	write("sites.csv", sites)
	_, car, _ := cars.File("mid-size-sedan")
	write("ours.yaml", string(car))
	text := strings.Replace(yearExample, "class: mid-size-sedan", "class: ours.yaml", 1)
	text = strings.Replace(text, "      - {name: the lake, distance_km: 250, road_kmh: 95, times: 6, stay_days: 2}\n",
		"      - {route: lake.gpx, month: 7, stay_days: 9}\n      - {route: coast.gpx, times: 2, stay_days: 1}\n    stations: [sites.csv]\n", 1)
	text = strings.NewReplacer(change...).Replace(text)
	write("household.yaml", text)
	return folder, filepath.Join(folder, "household.yaml")
}

// yearTotals is what the tests read of a year's JSON.
type yearTotals struct {
	DistanceKM float64  `json:"distance_km"`
	DrivenKWh  float64  `json:"driven_kwh"`
	HomeKWh    float64  `json:"home_kwh"`
	OutletKWh  float64  `json:"home_outlet_kwh"`
	FastKWh    float64  `json:"fast_kwh"`
	Cost       *float64 `json:"cost"`
	HomeCost   float64  `json:"home_cost"`
	Unpriced   int      `json:"unpriced_stops"`
	FastVisits int      `json:"fast_visits"`
	Nights     int      `json:"charge_nights"`
	DearKWh    float64  `json:"dear_kwh"`
	Short      int      `json:"short_nights"`
}

type yearDocument struct {
	Headline string       `json:"headline"`
	Currency string       `json:"currency"`
	Home     yearTotals   `json:"home"`
	FastOnly yearTotals   `json:"no_charging_at_home"`
	Stored   float64      `json:"stored_more_kwh"`
	Months   []yearTotals `json:"months"`
	Journeys []struct {
		Times      int      `json:"times"`
		Dates      []string `json:"dates"`
		Level      bool     `json:"driven_on_the_level"`
		DistanceKM float64  `json:"distance_km"`
		DrivenKWh  float64  `json:"driven_kwh"`
		FastKWh    float64  `json:"fast_kwh"`
		HostKWh    float64  `json:"host_kwh"`
		Stops      int      `json:"stops"`
		Unpriced   int      `json:"unpriced_stops"`
		Cost       []struct {
			Amount   float64 `json:"amount"`
			Currency string  `json:"currency"`
		} `json:"cost"`
	} `json:"journeys"`
	Compared []struct {
		Name        string  `json:"name"`
		HoursToFull float64 `json:"hours_to_full"`
		Nights      int     `json:"nights_to_full"`
		yearTotals
	} `json:"circuits_compared"`
}

func readYear(t *testing.T, args ...string) yearDocument {
	t.Helper()
	code, out, errOut := ampleway(t, "", append([]string{"year", "--format", "json"}, args...)...)
	var d yearDocument
	if err := json.Unmarshal([]byte(out), &d); code != exitOK || err != nil {
		t.Fatalf("year %v: exit %d, %v, %s", args, code, err, errOut)
	}
	return d
}

// A year with two journeys along own roads in another currency than the demo's,
// its energy and its money added up again from the printed figures.
func TestYearOfAnOwnHousehold(t *testing.T) {
	_, file := ownYear(t)
	d := readYear(t, "--households", file)
	near := func(what string, got, want, off float64) {
		t.Helper()
		if math.Abs(got-want) > off {
			t.Errorf("%s: %.3f, want %.3f", what, got, want)
		}
	}
	if d.Currency != "USD" || strings.Contains(d.Headline, "demo") || len(d.Months) != 12 || len(d.Journeys) != 2 {
		t.Fatalf("%+v", d)
	}
	var sum yearTotals
	cost := 0.0
	for _, m := range d.Months {
		sum.DistanceKM += m.DistanceKM
		sum.DrivenKWh += m.DrivenKWh
		sum.HomeKWh += m.HomeKWh
		sum.FastKWh += m.FastKWh
		cost += *m.Cost
	}
	const months = 12
	near("km of the months", sum.DistanceKM, d.Home.DistanceKM, months*0.05)
	near("kWh of the months", sum.DrivenKWh, d.Home.DrivenKWh, months*0.005)
	near("kWh at home of the months", sum.HomeKWh, d.Home.HomeKWh, months*0.005)
	near("money of the months", cost, *d.Home.Cost, months*0.005)

	// What was charged was driven, or is in the battery at the end of the year.
	near("nights and fast stops", d.Home.HomeKWh+d.Home.FastKWh, d.Home.DrivenKWh+d.Stored, 0.02)
	var fastKWh, fastCost, km float64
	for i, j := range d.Journeys {
		fastKWh += j.FastKWh
		km += j.DistanceKM
		if len(j.Cost) != 1 || j.Cost[0].Currency != "USD" || j.Unpriced != 0 || j.Times != i+1 || j.Level {
			t.Fatalf("journey %d: %+v", i+1, j)
		}
		fastCost += j.Cost[0].Amount
		for _, date := range j.Dates {
			if day, err := time.Parse(time.DateOnly, date); err != nil || day.Weekday() != time.Saturday {
				t.Errorf("a journey leaves on %s", date)
			}
		}
	}
	near("kWh of the journeys' stops", fastKWh, d.Home.FastKWh, 0.02)
	// Four degrees of a parallel of the WGS 84 ellipsoid (NGA.STND.0036), and what
	// the climbs and the ways to the stations add.
	parallelKM := func(lat float64) float64 {
		const a, e2 = 6378.137, 6.69437999e-3
		sin, cos := math.Sincos(lat * math.Pi / 180)
		return 4 * math.Pi / 180 * a * cos / math.Sqrt(1-e2*sin*sin)
	}
	roads := 2*parallelKM(31) + 4*parallelKM(33)
	near("km of the journeys", km, 1.0025*roads, 0.0025*roads)
	// Ordinary days: 340 km a week; 52 weeks and a Thursday in 2026, less ten days
	// from the second Saturday of July on and twice a Saturday and a Sunday.
	near("km of ordinary days", d.Home.DistanceKM-km, 52*340+60-(4*20+6*60)-2*40, 0.2)

	// 0.09 in the cheap hours, 0.19 outside; 0.49 at every station, where
	// 1/energy.GridEfficiency kWh are billed for one in the battery.
	near("money at home", d.Home.HomeCost, 0.09*d.Home.OutletKWh+0.10*d.Home.DearKWh, 0.01)
	near("money of the journeys", fastCost, 0.49*energy.GridKWh(fastKWh), 0.05)
	near("money", *d.Home.Cost, d.Home.HomeCost+fastCost, 0.02)
	if d.Home.FastVisits != 0 || d.Home.Nights > 365 {
		t.Errorf("%d visits on ordinary days, %d nights", d.Home.FastVisits, d.Home.Nights)
	}

	_, text, _ := ampleway(t, "", "year", "--households", file)
	if strings.Contains(text, "EUR") || strings.Contains(text, "demo") || !strings.Contains(text, "lake road") || !strings.Contains(text, "Journeys along roads are planned as") || !strings.Contains(text, "Twice over the year, coast road") {
		t.Errorf("the text:\n%s", text)
	}
}

// Level 1 and level 2 differ where it matters, and 230 V has outlets of its own.
func TestYearTellsCircuitsApart(t *testing.T) {
	_, file := ownYear(t)
	d := readYear(t, "--households", file)
	if len(d.Compared) != 2 {
		t.Fatalf("%+v", d.Compared)
	}
	own, level1 := d.Compared[0], d.Compared[1]
	if !strings.HasPrefix(own.Name, "as it is") || !strings.HasPrefix(level1.Name, "level 1") {
		t.Errorf("%q and %q", own.Name, level1.Name)
	}
	if own.Short != 0 || level1.Short == 0 || level1.DearKWh < 10*own.DearKWh || level1.HoursToFull < 4*own.HoursToFull || own.Nights != 1 || level1.Nights < 3 {
		t.Errorf("level 2 %+v, level 1 %+v", own, level1)
	}
	_, file = ownYear(t, "voltage_v: 240, breaker_a: 40", "voltage_v: 230, breaker_a: 20, phases: 3")
	d = readYear(t, "--households", file)
	if len(d.Compared) != 3 || d.Compared[0].Name != "as it is: 3 × 230 V, 20 A" || d.Compared[1].Name != "ordinary outlet: 230 V, 10 A" {
		t.Errorf("%+v", d.Compared)
	}
	_, file = ownYear(t, "    circuit: {voltage_v: 240, breaker_a: 40}\n", "")
	if d = readYear(t, "--households", file); len(d.Compared) != 3 || d.Home.Nights != 0 {
		t.Errorf("without a circuit: %+v", d.Compared)
	}
}

// The example of the help runs as it stands; its journeys have no road and no
// price, and say so.
func TestYearExample(t *testing.T) {
	file := filepath.Join(t.TempDir(), "household.yaml")
	must(t, os.WriteFile(file, []byte(yearExample), 0o644))
	_, help, _ := ampleway(t, "", "year", "--help")
	if !strings.Contains(help, yearExample) {
		t.Error("the help does not show the example")
	}
	d := readYear(t, "--households", file)
	j := d.Journeys[0]
	if !j.Level || j.Times != 6 || j.DistanceKM != 6*2*250 || j.Unpriced != j.Stops || j.Stops == 0 || len(j.Cost) != 0 || d.FastOnly.Cost != nil || d.FastOnly.Unpriced == 0 {
		t.Errorf("%+v, without charging at home %+v", j, d.FastOnly)
	}
	_, text, _ := ampleway(t, "", "year", "--households", file, "--units", "us")
	text = strings.Join(strings.Fields(text), " ")
	for _, want := range []string{
		"and four stops of unknown price in all.", "fuel car, 31.0 mpg", "at 3.60 USD a US gallon",
		"Six times over the year, the lake: 1864 mi in all on the level at 59 mph", "for 27 kWh, what they cost being unknown; back home", "--fast-price states it", "? stands for fast stops",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the text does not say %q:\n%s", want, text)
		}
	}
	if strings.Contains(text, "l/100 km") || strings.Contains(text, "a litre") {
		t.Errorf("litres in US units:\n%s", text)
	}
	priced := readYear(t, "--households", file, "--fast-price", "0.5")
	if got := priced.Journeys[0].Cost[0].Amount; math.Abs(got-0.5*energy.GridKWh(j.FastKWh)) > 0.02 || priced.Home.Unpriced != 0 {
		t.Errorf("%g for %g kWh", got, j.FastKWh)
	}
	free := readYear(t, "--households", file, "--fast-price", "0")
	if free.Home.Unpriced != 0 || *free.FastOnly.Cost != 0 {
		t.Errorf("a price of 0 is not free: %+v", free.FastOnly)
	}
}

// What a plug at the destination gives is neither the household's nor a fast
// charger's, and the year closes with it, on a road as by distance.
func TestYearPlugAtTheDestination(t *testing.T) {
	_, file := ownYear(t, "{route: lake.gpx, month: 7, stay_days: 9}", `{route: lake.gpx, month: 7, stay_days: 9, plug: "level2:40"}`,
		"{route: coast.gpx, times: 2, stay_days: 1}", "{distance_km: 300, road_kmh: 90, times: 3, stay_days: 2, plug: level1}")
	d := readYear(t, "--households", file)
	road, level := d.Journeys[0], d.Journeys[1]
	if road.HostKWh < 20 || level.HostKWh < 30 {
		t.Errorf("%+v", d.Journeys)
	}
	if off := d.Home.HomeKWh + d.Home.FastKWh + road.HostKWh + level.HostKWh - d.Home.DrivenKWh - d.Stored; math.Abs(off) > 0.03 {
		t.Errorf("%.3f kWh do not close", off)
	}
	_, text, _ := ampleway(t, "", "year", "--households", file)
	if text = strings.Join(strings.Fields(text), " "); !strings.Contains(text, "their cost is the host's") || !strings.Contains(text, "kWh from the plug at the destination; back home with") {
		t.Errorf("the text:\n%s", text)
	}
}

// What is odd about the household's own stations is told beside the year.
func TestYearTellsOfItsStations(t *testing.T) {
	folder, file := ownYear(t)
	f, err := os.OpenFile(filepath.Join(folder, "sites.csv"), os.O_APPEND|os.O_WRONLY, 0)
	must(t, err)
	fmt.Fprintln(f, "x,Nowhere,-20,95,CCS2,150,4,USD,0.49")
	must(t, f.Close())
	code, _, errOut := ampleway(t, "", "year", "--households", file)
	if code != exitOK || !strings.Contains(errOut, "sites.csv") {
		t.Errorf("exit %d, %q", code, errOut)
	}
}

// Weather that is the demo's is in the first sentence, in every form.
func TestYearNamesTheDemosWeather(t *testing.T) {
	own, _, _ := strings.Cut(yearExample, "climate:")
	file := filepath.Join(t.TempDir(), "household.yaml")
	must(t, os.WriteFile(file, []byte(own), 0o644))
	for _, form := range answer.Formats(answer.Year{}) {
		code, out, errOut := ampleway(t, "", "year", "--households", file, "--format", form)
		if code != exitOK || !strings.Contains(strings.Join(strings.Fields(out), " "), "with the weather of the demo, an invented place") {
			t.Errorf("%s: exit %d, %s", form, code, errOut)
		}
	}
	if d := readYear(t, "--households", file); !strings.Contains(d.Headline, "with the weather of the demo") {
		t.Error(d.Headline)
	}
}

// Stations without a price are counted, not taken for free.
func TestYearUnknownPrices(t *testing.T) {
	folder, file := ownYear(t)
	sites, err := os.ReadFile(filepath.Join(folder, "sites.csv"))
	must(t, err)
	must(t, os.WriteFile(filepath.Join(folder, "sites.csv"), []byte(strings.ReplaceAll(string(sites), "USD,0.49", ",")), 0o644))
	d := readYear(t, "--households", file)
	stops := d.Journeys[0].Stops + d.Journeys[1].Stops
	if stops == 0 || d.Home.Unpriced != stops || *d.Home.Cost != d.Home.HomeCost || d.FastOnly.Cost != nil {
		t.Errorf("%d stops; %+v", stops, d.Home)
	}
}

// Money in two currencies is refused with the remedy, and counted with it.
func TestYearCurrencies(t *testing.T) {
	folder, file := ownYear(t)
	sites, err := os.ReadFile(filepath.Join(folder, "sites.csv"))
	must(t, err)
	in := readYear(t, "--households", file)
	must(t, os.WriteFile(filepath.Join(folder, "sites.csv"), []byte(strings.ReplaceAll(string(sites), "USD,0.49", "JPY,49")), 0o644))
	code, out, errOut := ampleway(t, "", "year", "--households", file)
	if code != exitUsage || out != "" || !strings.Contains(errOut, "prices in USD and JPY") || !strings.Contains(errOut, "--rate JPY=…USD") {
		t.Errorf("exit %d, %s%s", code, out, errOut)
	}
	d := readYear(t, "--households", file, "--rate", "JPY=0.01USD")
	if math.Abs(*d.Home.Cost-*in.Home.Cost) > 0.02 {
		t.Errorf("%g with a rate, %g without", *d.Home.Cost, *in.Home.Cost)
	}
}

func TestYearRefusals(t *testing.T) {
	for _, c := range []struct {
		name, old, new string
		says           []string
	}{
		{"home", "    tariff: night rate", "    home: Elsewhere\n    tariff: night rate", []string{"household.yaml, home: found Elsewhere: expected Home"}},
		{"tariff", "tariff: night rate", "tariff: day rate", []string{"household.yaml, tariff: found day rate: expected one of night rate"}},
		{"stations", "    stations: [sites.csv]\n", "", []string{"household.yaml, household ours, stations: found none", "lake road", "--stations"}},
		{"fuel", "currency: USD}", "currency: EUR}", []string{"household ours, fuel_car, currency: found EUR: expected USD"}},
		{"hour", `home_from: "18:30"`, `home_from: "08:30"`, []string{"household ours, car 1, home_from: found 08:30: expected 12:00 to 23:59"}},
		{"month", "month: 7,", "month: 17,", []string{"household ours, trip 1, month: found 17: expected 0 to 12"}},
		{"half a journey", "times: 2,", "times: 1.5,", []string{"household.yaml, line 13, times: found 1.5: expected a whole number"}},
		{"weather", "night_c: -6, ", "", []string{"climate, month 1, night_c: found nothing: expected -60 to 60 °C"}},
		{"circuit", "breaker_a: 40", "breaker_a: 4000", []string{"household ours, circuit, breaker_a: found 4000: expected 6 to 400 A"}},
		{"road file", "route: lake.gpx", "route: absent.gpx", []string{"absent.gpx"}},
		{"two roads", "route: lake.gpx,", "route: lake.gpx, corridor: pass,", []string{"trip 1, route: found 2 roads"}},
		{"key", "stay_days: 9", "nights: 9", []string{"household.yaml, line", "nights"}},
	} {
		_, file := ownYear(t, c.old, c.new)
		code, out, errOut := ampleway(t, "", "year", "--households", file)
		if code != exitUsage || out != "" {
			t.Errorf("%s: exit %d, %s", c.name, code, errOut)
		}
		for _, says := range c.says {
			if !strings.Contains(errOut, says) {
				t.Errorf("%s: %q does not say %q", c.name, errOut, says)
			}
		}
	}
	own, _, _ := strings.Cut(yearExample, "climate:")
	file := filepath.Join(t.TempDir(), "household.yaml")
	must(t, os.WriteFile(file, []byte(strings.Replace(own, "    tariff:", "    home: Elsewhere\n    tariff:", 1)), 0o644))
	code, _, errOut := ampleway(t, "", "year", "--households", file)
	if code != exitUsage || !strings.Contains(errOut, "home: found Elsewhere") || !strings.Contains(errOut, "--climate") || !strings.Contains(errOut, "Velmouth or Dunmarrow") {
		t.Errorf("a home without weather: exit %d, %s", code, errOut)
	}
	code, _, errOut = ampleway(t, "", "year", "--fast-price", "-1")
	if code != exitUsage || !strings.Contains(errOut, "--fast-price: found -1") {
		t.Errorf("exit %d, %s", code, errOut)
	}
}

// No night is counted twice where a household has two cars.
func TestYearNightsAreTheHouseholds(t *testing.T) {
	if d := readYear(t, "--household", "two cars on one feed"); d.Home.Nights > 365 || d.Home.Nights < 300 {
		t.Errorf("%d nights", d.Home.Nights)
	}
	// The small hatch takes 59 kW from 10 to 80 % (ampleway car show small-hatch).
	_, text, _ := ampleway(t, "", "year", "--household", "two cars on one feed")
	if !strings.Contains(strings.Join(strings.Fields(text), " "), "goes at 60 or 59 kW on average") {
		t.Error("the slower car charges as fast as the other")
	}
}

// A journey whose stations have another plug of the same kind is refused with
// the line of the household that says so, and the line makes the year.
func TestYearInletOfTheHouseholdsCar(t *testing.T) {
	folder, file := ownYear(t, "class: ours.yaml", "class: small-hatch")
	sites := filepath.Join(folder, "sites.csv")
	text, err := os.ReadFile(sites)
	must(t, err)
	must(t, os.WriteFile(sites, []byte(strings.ReplaceAll(string(text), "CCS2", "CCS1")), 0o644))
	code, _, errOut := ampleway(t, "", "year", "--households", file)
	_, line, _ := strings.Cut(errOut, "In a file of households the inlet stands with the car: ")
	if line = strings.TrimSpace(line); code != exitNoPlan || line != "connector: [CCS1]" {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	household, err := os.ReadFile(file)
	must(t, err)
	must(t, os.WriteFile(file, []byte(strings.Replace(string(household), "        road_kmh: 55\n", "        road_kmh: 55\n        "+line+"\n", 1)), 0o644))
	readYear(t, "--households", file)
}
