package answer_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/route"
	"ampleway/route/input"
	"ampleway/route/question"
	"ampleway/route/read"
	"ampleway/route/trip"
	"ampleway/stations"
	"ampleway/testdata"
)

// thereAndBack plans the demo trip both ways, with road, index and request as
// change leaves them.
func thereAndBack(t testing.TB, stay string, change func(*route.Route, *stations.Index, *question.Question)) (answer.Journey, answer.Options) {
	t.Helper()
	d, r, index, car := demoInputs(t)
	if change != nil {
		change(r, index, &d.Question)
	}
	d.Question.Back, d.Question.Stay = true, []string{stay}
	itinerary := trip.Itinerary{Routes: []*route.Route{r}, Stations: index}
	journey, err := itinerary.Journey(car, d.Question)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := journey.PlanWith(t.Context(), nil, trip.PlanOptions{Assured: true})
	if err != nil {
		t.Fatal(err)
	}
	return answer.Journey{JourneyPlan: plan}, answer.Options{Note: d.Note}
}

func TestJourneyGolden(t *testing.T) {
	visit, o := thereAndBack(t, "6h level2:40", nil)
	testdata.Golden(t, "demo-journey.text", write(t, "text", visit, o))
}

func TestJourneySchema(t *testing.T) {
	testdata.Sequential(t)
	compiled := compile(t, answer.Schema())
	for _, stay := range []string{"6h level2:40", "0s none", "30m dc:50"} {
		visit, o := thereAndBack(t, stay, nil)
		fits(t, compiled, stay, write(t, "json", visit, o))
	}
	visit, o := thereAndBack(t, "6h none", func(_ *route.Route, _ *stations.Index, ask *question.Question) { ask.Depart = "" })
	document := write(t, "json", visit, o)
	fits(t, compiled, "no clock", document)
	refuses(t, compiled, document, map[string]any{
		"format": "ampleway-journey/2", "duration_min": -1, "reach_pct": 101, "drives": []any{}, "stays": "none", "ends_at_start": "yes", "an_unknown_key": 1,
	})
}

// comparison is of a car that can make a journey there and back, and one that
// cannot.
func comparison(t *testing.T) (answer.Comparison, answer.Options) {
	t.Helper()
	d, _, index, _ := demoInputs(t)
	r, err := input.Here.Route("demo:north")
	if err != nil {
		t.Fatal(err)
	}
	d.Question.Back, d.Question.Stay = true, []string{"6h level2:40"}
	var cases []trip.Case
	for _, c := range []struct {
		name  string
		tempC float64
	}{{"small-hatch", -15}, {"mid-size-sedan", 20}} {
		car, err := input.Here.Car(c.name)
		if err != nil {
			t.Fatal(err)
		}
		k := trip.Case{Car: car, Ask: d.Question}
		k.Ask.TempC = c.tempC
		cases = append(cases, k)
	}
	itinerary := trip.Itinerary{Routes: []*route.Route{r}, Stations: index}
	compared, err := itinerary.Compare(t.Context(), nil, cases, trip.PlanOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if compared[0].Plan != nil || compared[1].Plan == nil {
		t.Fatal("want one case of each kind")
	}
	return compared, answer.Options{Note: d.Note}
}

func TestComparisonSchema(t *testing.T) {
	const name = "comparison.schema.json"
	schema, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	published(t, name, "A journey for several cars or figures, as ampleway trip --format json writes it", &answer.ComparisonDocument{}, schema)
	compared, o := comparison(t)
	compiled := compile(t, schema)
	document := write(t, "json", compared, o)
	fits(t, compiled, "both kinds", document)
	refuses(t, compiled, document, map[string]any{
		"format": "ampleway-comparison/2", "name": -1, "cases": []any{}, "cautions": "none", "an_unknown_key": 1,
	})
}

// Every form of a comparison says which figure differs, and why a case cannot
// be made; what is on a map carries the number of its case.
func TestComparisonInEveryForm(t *testing.T) {
	testdata.Sequential(t)
	compared, o := comparison(t)
	forms := map[string][]string{
		"text":    {"one journey cannot be made", "temperature", "-15 °C", "not possible", "Drive 1 of this journey cannot be planned"},
		"html":    {"one journey cannot be made", ">Outside temperature</th>", "-15 °C", "not possible", "Drive 1 of this journey cannot be planned"},
		"json":    {`"temp_c": -15`, `"why_not": "Drive 1`, `"reach_pct"`},
		"csv":     {"case,car,temp_c,", "Drive 1 of this journey cannot be planned"},
		"geojson": {`"case": 2`, `"temp_c": -15`},
		"gpx":     {"<name>case 2: drive 1: 1 "},
	}
	if got := answer.Formats(compared); len(got) != len(forms) {
		t.Errorf("formats %v", got)
	}
	for form, texts := range forms {
		written := string(write(t, form, compared, o))
		for _, text := range texts {
			if !strings.Contains(strings.Join(strings.Fields(written), " "), text) {
				t.Errorf("%s does not say %q:\n%.1500s", form, text, written)
			}
		}
	}
}

// The sums of the whole are those of its parts.
func TestJourneyDocumentCloses(t *testing.T) {
	testdata.Sequential(t)
	visit, o := thereAndBack(t, "6h level2:40", nil)
	d := answer.NewDocument(visit, o)
	duration, cost := d.Stays[0].DurationMin, 0.0
	for _, drive := range d.Drives {
		duration += drive.DurationMin
		for _, c := range drive.Cost {
			cost += c.Amount
		}
	}
	if diff := duration - d.DurationMin; diff > 0.01 || diff < -0.01 {
		t.Errorf("the parts take %g min, the whole %g", duration, d.DurationMin)
	}
	if len(d.Cost) != 1 || d.Cost[0].Amount-cost > 1e-3 || cost-d.Cost[0].Amount > 1e-3 {
		t.Errorf("the parts cost %g, the whole %v", cost, d.Cost)
	}
	if s := d.Stays[0]; s.ReachPct != d.Drives[0].ReachPct || s.LeavePct != d.Drives[1].LeavePct {
		t.Errorf("the stay %+v does not join %g %% and %g %%", s, d.Drives[0].ReachPct, d.Drives[1].LeavePct)
	}
	if !d.EndsAtStart || d.ReachPct != d.Drives[1].ReachPct {
		t.Errorf("ends at the start: %v, with %g %%", d.EndsAtStart, d.ReachPct)
	}
}

func TestJourneyCSV(t *testing.T) {
	testdata.Sequential(t)
	visit, o := thereAndBack(t, "6h level2:40", nil)
	rows, err := csv.NewReader(bytes.NewReader(write(t, "csv", visit, o))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	single, err := csv.NewReader(bytes.NewReader(write(t, "csv", answer.Alone(visit.Plans[1]), o))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	back := 0
	for _, row := range rows[1:] {
		if row[0] == "2" {
			back++
			if got, want := fmt.Sprint(row[1:]), fmt.Sprint(single[back][1:]); got != want {
				t.Errorf("row %s of the way back, alone %s", got, want)
			}
		}
	}
	if back != len(single)-1 {
		t.Errorf("%d rows of the way back, alone %d", back, len(single)-1)
	}
}

// Both roads survive a round trip through the written GPX, and the whole is
// read back by GDAL and by gpsbabel, as that of a single trip is.
func TestJourneyReadByOthers(t *testing.T) {
	visit, o := thereAndBack(t, "6h level2:40", nil)
	gpxText := write(t, "gpx", visit, o)
	for i, p := range visit.Plans {
		got, err := read.Read(bytes.NewReader(gpxText), "x", read.Options{Part: i + 1})
		if err != nil {
			t.Fatal(err)
		}
		want := p.Drive.Corridor.Route
		if got.Name != want.Name || got.Len() != want.Len() {
			t.Errorf("track %d: %q of %d points, want %q of %d", i+1, got.Name, got.Len(), want.Name, want.Len())
		}
	}
	ogrinfo, gpsbabel := testdata.Tool(t, "ogrinfo"), testdata.Tool(t, "gpsbabel")
	folder := t.TempDir()
	gpx, gj := filepath.Join(folder, "visit.gpx"), filepath.Join(folder, "visit.geojson")
	for name, text := range map[string][]byte{gpx: gpxText, gj: write(t, "geojson", visit, o)} {
		if err := os.WriteFile(name, text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	stops, points, legs := 0, 0, 0
	for _, p := range visit.Plans {
		stops, points, legs = stops+len(p.Stops), points+p.Drive.Corridor.Route.Len(), legs+len(p.Legs)
	}
	summary := command(t, ogrinfo, "-ro", "-so", "-al", gpx)
	for layer, count := range map[string]int{"waypoints": stops, "routes": 2, "tracks": 2, "route_points": stops + 4, "track_points": points} {
		if got := featureCount(summary, layer); got != count {
			t.Errorf("ogrinfo counts %d in %s, want %d", got, layer, count)
		}
	}
	const ends, stays = 4, 1
	if got, want := featureCount(command(t, ogrinfo, "-ro", "-so", "-al", gj), "visit"), stops+ends+stays+legs; got != want {
		t.Errorf("ogrinfo counts %d features in the GeoJSON, want %d", got, want)
	}
	for drive := 1; drive <= 2; drive++ {
		where := fmt.Sprintf("drive = %d", drive)
		want := len(visit.Plans[drive-1].Stops) + 2 + len(visit.Plans[drive-1].Legs) + (2 - drive)
		if got := featureCount(command(t, ogrinfo, "-ro", "-so", "-al", "-where", where, gj), "visit"); got != want {
			t.Errorf("ogrinfo counts %d features with %s, want %d", got, where, want)
		}
	}
	stay := command(t, ogrinfo, "-ro", "-al", "-where", "kind = 'stay'", gj)
	if !strings.Contains(stay, "POINT (") || !strings.Contains(stay, "level 2 circuit on a 40 A breaker") {
		t.Errorf("ogrinfo gives back the stay as %s", stay)
	}
	rows := command(t, gpsbabel, "-i", "gpx", "-f", gpx, "-o", "unicsv", "-F", "-")
	for d, p := range visit.Plans {
		for i := range p.Stops {
			name := fmt.Sprintf("drive %d: %d %s", d+1, i+1, trip.SiteName(p.Stops[i].Charger.Site))
			if !strings.Contains(rows, name) {
				t.Errorf("gpsbabel does not give back stop %q", name)
			}
		}
	}
	if got := strings.Count(strings.TrimSpace(rows), "\n"); got != stops {
		t.Errorf("gpsbabel gives back %d waypoints, want %d", got, stops)
	}
}

// Names from files stay text in every form.
func TestJourneyEscapesNames(t *testing.T) {
	testdata.Sequential(t)
	const hostile = `<script>alert("x")</script> & 'y', "z"`
	visit, o := thereAndBack(t, "6h level2:40", func(r *route.Route, _ *stations.Index, ask *question.Question) {
		r.Name, ask.StartName, ask.EndName = hostile, hostile+" start", hostile+" end"
	})
	site := *visit.Plans[0].Stops[0].Charger.Site
	site.Name, site.Operator, site.Amenities = hostile, hostile, []string{hostile}
	visit.Plans[0].Stops[0].Charger.Site = &site
	o.Note = hostile
	for _, format := range []string{"html", "gpx"} {
		if text := write(t, format, visit, o); bytes.Contains(text, []byte("<script")) {
			t.Errorf("%s holds a name as markup", format)
		}
	}
	if _, err := read.Read(bytes.NewReader(write(t, "gpx", visit, o)), "x", read.Options{Part: 1}); err != nil {
		t.Errorf("gpx: %v", err)
	}
	for _, format := range []string{"json", "geojson"} {
		var v any
		if err := json.Unmarshal(write(t, format, visit, o), &v); err != nil {
			t.Errorf("%s: %v", format, err)
		}
	}
	rows, err := csv.NewReader(bytes.NewReader(write(t, "csv", visit, o))).ReadAll()
	if err != nil || rows[2][2] != hostile {
		t.Errorf("csv: %v, %q", err, rows[2])
	}
}

func TestJourneySheet(t *testing.T) {
	testdata.Sequential(t)
	visit, o := thereAndBack(t, "6h level2:40", nil)
	sheet := string(write(t, "html", visit, o))
	for text, times := range map[string]int{
		"Home again with":                   2, // title and heading
		"Never drive on below your reserve": 1, "a licensed electrician decides": 1, "What this rests on": 1, "Take care": 1,
		">The stay": 1, ">Drive 1: Tharn": 1, ">Drive 2: Tharn": 1, "<svg": 4, "If it cannot charge you": len(visit.Plans[0].Stops) + len(visit.Plans[1].Stops),
	} {
		if got := strings.Count(sheet, text); got != times {
			t.Errorf("%q stands there %d times, want %d", text, got, times)
		}
	}
	for _, tag := range []string{"<script", "<link", "<img", "<iframe", "@import", "url("} {
		if strings.Contains(sheet, tag) {
			t.Errorf("the sheet has %s", tag)
		}
	}
	seen := map[string]bool{}
	for _, m := range regexp.MustCompile(` id="([^"]+)"`).FindAllStringSubmatch(sheet, -1) {
		if seen[m[1]] {
			t.Errorf("id %q twice", m[1])
		}
		seen[m[1]] = true
	}
}

// A visit in other weather on the way back says which weather is whose; what
// holds for both is said once.
func TestJourneyAssumptionsSayWhose(t *testing.T) {
	visit, o := thereAndBack(t, "6h none", nil)
	back := *visit.Plans[1].Drive
	back.Conditions.TempC = -7
	visit.Plans[1].Drive = &back
	text := strings.Join(strings.Fields(string(write(t, "text", visit, o))), " ")
	for want, times := range map[string]int{"Drive 1: Weather: 8 °C": 1, "Drive 2: Weather: -7 °C": 1, "Car: ": 1, "licensed electrician": 0} {
		if got := strings.Count(text, want); got != times {
			t.Errorf("%q stands there %d times, want %d:\n%s", want, got, times, text)
		}
	}
}

// A writer that fails half-way is reported by every format.
func TestJourneyFullDisk(t *testing.T) {
	visit, o := thereAndBack(t, "6h none", nil)
	for _, format := range answer.Formats(visit) {
		if err := answer.Write(&limited{most: 100}, format, visit, o); err == nil {
			t.Errorf("%s: a full disk is not noticed", format)
		}
	}
}
