package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"ampleway/data"
	"ampleway/testdata"
)

// pricedStations is the demo's station file with other prices: change gets the ID of
// a station, its number and its properties.
func pricedStations(t *testing.T, change func(id string, i int, properties map[string]any)) string {
	t.Helper()
	var file map[string]any
	if err := json.Unmarshal(data.Stations(), &file); err != nil {
		t.Fatal(err)
	}
	for i, f := range file["features"].([]any) {
		site := f.(map[string]any)
		change(site["id"].(string), i, site["properties"].(map[string]any))
	}
	text, err := json.Marshal(file)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "stations.geojson")
	if err := os.WriteFile(path, text, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// inYen puts every second price in JPY, at 160 for a EUR, and that of the demo
// trip's second stop, but not that of its first.
func inYen(t *testing.T) func(id string, i int, properties map[string]any) {
	demo := tripMoney(t)
	return func(id string, i int, properties map[string]any) {
		price, ok := properties["price"].(map[string]any)
		if !ok || id == demo.Stops[0].Station.ID || i%2 == 0 && id != demo.Stops[1].Station.ID {
			return
		}
		price["currency"] = "JPY"
		times(price, 160)
	}
}

func times(rates map[string]any, factor float64) {
	for key, value := range rates {
		switch v := value.(type) {
		case float64:
			if strings.HasSuffix(key, "per_kwh") || strings.HasSuffix(key, "per_minute") || key == "session_fee" {
				rates[key] = v * factor
			}
		case []any:
			for _, part := range v {
				times(part.(map[string]any), factor)
			}
		}
	}
}

type moneyDocument struct {
	Cost []struct {
		Amount   float64
		Currency string
	}
	UnpricedStops int `json:"unpriced_stops"`
	Stops         []struct {
		Station struct{ ID string }
	}
	DurationMin float64 `json:"duration_min"`
}

func (d *moneyDocument) in(perEUR map[string]float64) float64 {
	sum := 0.0
	for _, c := range d.Cost {
		sum += c.Amount / perEUR[c.Currency]
	}
	return sum
}

func tripMoney(t *testing.T, args ...string) *moneyDocument {
	t.Helper()
	code, out, errOut := ampleway(t, "", append([]string{"trip", "--format", "json"}, args...)...)
	if code != exitOK {
		t.Fatalf("%v: exit %d, %s", args, code, errOut)
	}
	var d moneyDocument
	if err := readDrive(out, &d); err != nil {
		t.Fatal(err)
	}
	return &d
}

// Prices in two currencies are never added up, nor compared without a rate.
func TestPricesInTwoCurrencies(t *testing.T) {
	testdata.Sequential(t)
	sites := pricedStations(t, inYen(t))
	perEUR := map[string]float64{"EUR": 1, "JPY": 160}
	byTime := tripMoney(t, "--stations", sites)
	if len(byTime.Cost) != 2 || byTime.Cost[0].Currency != "EUR" || byTime.Cost[1].Currency != "JPY" {
		t.Fatalf("by time: %+v", byTime.Cost)
	}
	_, text, _ := ampleway(t, "", "trip", "--stations", sites)
	if !regexp.MustCompile(`for about [0-9]+\.[0-9]{2} EUR and [0-9],[0-9]{3} JPY\.`).MatchString(unwrapped(text)) {
		t.Errorf("by time, in words:\n%s", text)
	}
	for _, args := range [][]string{
		{"--best", "cost"}, {"--best", "balance", "--hour-worth", "12"}, {"--best", "cost", "--back"},
		{"--best", "cost", "--rate", "CHF=1.05EUR"}, {"--best", "cost", "--rate", "JPY=0.0061CHF"},
	} {
		code, out, errOut := ampleway(t, "", append([]string{"trip", "--stations", sites}, args...)...)
		if code != exitUsage || out != "" || !strings.Contains(errOut, "prices in EUR and JPY") || !strings.Contains(errOut, "--rate ") {
			t.Errorf("%v: exit %d, %s", args, code, errOut)
		}
	}
	for _, rate := range []string{"JPY=0.00625EUR", "EUR=160JPY"} {
		byCost := tripMoney(t, "--stations", sites, "--best", "cost", "--rate", rate)
		if byCost.in(perEUR) > byTime.in(perEUR) || byCost.DurationMin < byTime.DurationMin {
			t.Errorf("%s: by cost %+v, by time %+v", rate, byCost, byTime)
		}
		// In one currency the same road costs the same.
		if one := tripMoney(t, "--best", "cost"); one.in(perEUR)-byCost.in(perEUR) > 0.02 || byCost.in(perEUR)-one.in(perEUR) > 0.02 {
			t.Errorf("%s: %g EUR in two currencies, %g in one", rate, byCost.in(perEUR), one.in(perEUR))
		}
	}
}

func unwrapped(text string) string { return strings.Join(strings.Fields(text), " ") }

func withoutPrice(which func(id string, i int) bool) func(string, int, map[string]any) {
	return func(id string, i int, properties map[string]any) {
		if which(id, i) {
			delete(properties, "price")
		}
	}
}

// A price that is not known is never 0: no plan by cost stops there unasked,
// no form shows a sum for it, and what is missing is said with its remedy.
func TestPricesThatAreNotKnown(t *testing.T) {
	testdata.Sequential(t)
	demo := tripMoney(t)
	first := demo.Stops[0].Station.ID
	none := pricedStations(t, withoutPrice(func(string, int) bool { return true }))
	some := pricedStations(t, withoutPrice(func(_ string, i int) bool { return i%2 == 1 }))
	code, out, errOut := ampleway(t, "", "trip", "--stations", none, "--best", "cost")
	if code != exitNoPlan || out != "" || !strings.Contains(unwrapped(errOut), "none says what it costs") || !strings.Contains(errOut, "--unknown-price") {
		t.Errorf("by cost, no price known: exit %d, %s", code, errOut)
	}
	if d := tripMoney(t, "--stations", none, "--best", "cost", "--unknown-price", "0.5"); len(d.Cost) != 0 || d.UnpricedStops != len(d.Stops) {
		t.Errorf("at a stated price: %+v", d)
	}
	known := tripMoney(t, "--stations", some, "--best", "cost")
	if known.UnpricedStops != 0 || len(known.Cost) != 1 {
		t.Errorf("by cost, half of the prices known: %+v", known)
	}
	_, text, _ := ampleway(t, "", "trip", "--stations", some, "--best", "cost")
	if head, _, _ := strings.Cut(text, "km   time"); !strings.Contains(unwrapped(head), "stations without a known price left out") {
		t.Errorf("the head does not say what was left out:\n%s", head)
	}
	code, _, errOut = ampleway(t, "", "trip", "--stations", none, "--best", "cost", "--must", first)
	if code != exitUsage || !strings.Contains(errOut, "--unknown-price") {
		t.Errorf("a stop of unknown price that must be made: exit %d, %s", code, errOut)
	}
	count := strconv.Itoa(len(demo.Stops))
	stops := map[int]string{2: "two", 3: "three", 4: "four"}[len(demo.Stops)] + " stops of unknown price"
	for form, want := range map[string]string{
		"text": "for an unknown sum (" + stops + ")", "html": "for an unknown sum (" + stops + ")",
		"json": `"unpriced_stops": ` + count, "geojson": `"unpriced_stops":` + count, "csv": ",,", "gpx": "",
	} {
		code, out, errOut := ampleway(t, "", "trip", "--stations", none, "--format", form)
		if code != exitOK || !strings.Contains(strings.ReplaceAll(unwrapped(out), `": `, `":`), strings.ReplaceAll(want, `": `, `":`)) {
			t.Errorf("%s: exit %d, %s", form, code, errOut)
		}
		if strings.Contains(out, "0.00 ") || strings.Contains(out, `"amount"`) {
			t.Errorf("%s has a sum although no price is known", form)
		}
	}
	_, text, _ = ampleway(t, "", "trip", "--stations", pricedStations(t, withoutPrice(func(id string, _ int) bool { return id == first })))
	if !strings.Contains(unwrapped(text), " EUR and one stop of unknown price.") {
		t.Errorf("one price is not known:\n%s", text)
	}
}

// The fuel for the demo's 587 km at 6.8 l/100 km is 39.9 l; 32 miles a US
// gallon of 3.785411784 l are 7.35 l/100 km. Fuel and charging are set against
// each other in one currency or by a stated rate only.
func TestFuelCar(t *testing.T) {
	for _, c := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"--fuel-car", "6.8 l/100km 1.72"}, exitOK, "would take 40 litres for 68.65 EUR on the same road, "},
		{[]string{"--fuel-car", "6.8 l/100km 1.72"}, exitOK, " EUR more than the charging on the way; the "},
		{[]string{"--fuel-car", "0 l/100km 1.72"}, exitUsage, "--fuel-car"},
		{[]string{"--fuel-car", "6.8 1.72"}, exitUsage, "6.8 l/100km 1.72 EUR"},
		{[]string{"--fuel-car", "6.8 l/100km cheap"}, exitUsage, "--fuel-car"},
		{[]string{"--fuel-car", "6.8 l/100km 1.72 euros"}, exitUsage, "--fuel-car"},
		{[]string{"--fuel-car", "6.8 l/100km 300 JPY"}, exitOK, "for 11,974 JPY on the same road; to set it against the charging on the way takes a rate"},
		{[]string{"--fuel-car", "6.8 l/100km 300 JPY", "--rate", "JPY=0.00625EUR"}, exitOK, "for 11,974 JPY on the same road, "},
		{[]string{"--units", "us", "--fuel-car", "32 mpg 3.40"}, exitOK, "would take 11.4 gallons for 38.75 EUR on the same road, "},
		{[]string{"--fuel-car", "6.8 l/100km 1.72", "--back"}, exitOK, "would take 40 litres for 68.65 EUR on the same road, "},
	} {
		code, out, errOut := ampleway(t, "", append([]string{"trip"}, c.args...)...)
		if code != c.code || !strings.Contains(unwrapped(out+errOut), c.want) {
			t.Errorf("%v: exit %d, %s%s", c.args, code, errOut, out)
		}
	}
	sites := pricedStations(t, inYen(t))
	code, _, errOut := ampleway(t, "", "trip", "--stations", sites, "--fuel-car", "6.8 l/100km 1.72")
	if code != exitUsage || !strings.Contains(errOut, "prices in EUR and JPY") {
		t.Errorf("a price without a currency among two: exit %d, %s", code, errOut)
	}
	_, out, _ := ampleway(t, "", "trip", "--fuel-car", "6.8 l/100km 1.72", "--format", "json")
	var d struct {
		Cost []struct{ Amount float64 }
		Fuel struct {
			Cost     struct{ Amount float64 }
			MoreCost struct{ Amount float64 } `json:"more_cost"`
		} `json:"fuel_car"`
	}
	if err := readDrive(out, &d); err != nil {
		t.Fatal(err)
	}
	if sum := d.Cost[0].Amount + d.Fuel.MoreCost.Amount - d.Fuel.Cost.Amount; sum > 1e-3 || sum < -1e-3 {
		t.Errorf("JSON: %+v", d)
	}
}
