package report_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"ampleway/cmd/ampleway/internal/report"
	"ampleway/route"
	"ampleway/route/input"
	"ampleway/route/question"
	"ampleway/route/read"
	"ampleway/route/trip"
	"ampleway/stations"
	"ampleway/stations/open"
	"ampleway/testdata"
)

// thereAndBack plans the demo trip both ways, with road, index and request as
// change leaves them.
func thereAndBack(t testing.TB, stay string, change func(*route.Route, *stations.Index, *question.Question)) (*trip.JourneyPlan, report.Options) {
	t.Helper()
	d, r, index, car := demoInputs(t)
	if change != nil {
		change(r, index, &d.Question)
	}
	visit := &trip.Journey{}
	s, err := trip.ParseStay(stay)
	if err != nil {
		t.Fatal(err)
	}
	visit.Stays = []trip.Stay{s}
	ask := d.Question
	for range 2 {
		drive, goal, err := trip.Prepare(r, index, car, ask)
		if err != nil {
			t.Fatal(err)
		}
		if len(visit.Drives) == 0 {
			visit.Goal = goal
		}
		visit.Drives = append(visit.Drives, drive)
		r, ask = trip.WayBack(r), ask.WayBack()
	}
	plan, err := visit.Plan(nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := plan.Assure(nil, trip.AssureOptions{}); err != nil {
		t.Fatal(err)
	}
	return plan, report.Options{Note: d.Note}
}

func writeVisit(t testing.TB, format string, v *trip.JourneyPlan, o report.Options) []byte {
	t.Helper()
	w, err := report.For(format)
	return written(t, err, func(out io.Writer) error { return w(out, v, o) })
}

// GPX and GeoJSON, mostly the points of the roads, are held by
// TestVisitReadByOthers.
func TestVisitGolden(t *testing.T) {
	visit, o := thereAndBack(t, "6h level2:40", nil)
	for _, format := range []string{"text", "json", "csv", "html"} {
		testdata.Golden(t, "demo-visit."+format, writeVisit(t, format, visit, o))
	}
}

func TestVisitSchema(t *testing.T) {
	published(t, "visit.schema.json", "There and back, as ampleway trip --back --format json writes it", &report.VisitDocument{}, report.VisitSchema())
	compiled := compile(t, report.VisitSchema())
	for _, stay := range []string{"6h level2:40", "0s none", "30m dc:50"} {
		visit, o := thereAndBack(t, stay, nil)
		fits(t, compiled, stay, writeVisit(t, "json", visit, o))
	}
	visit, o := thereAndBack(t, "6h none", func(_ *route.Route, _ *stations.Index, ask *question.Question) { ask.Depart = "" })
	document := writeVisit(t, "json", visit, o)
	fits(t, compiled, "no clock", document)
	refuses(t, compiled, document, map[string]any{
		"format": "ampleway-visit/2", "duration_min": -1, "arrival_soc_pct": 101, "drives": []any{}, "stays": "none", "ends_at_start": "yes", "an_unknown_key": 1,
	})
}

func TestComparisonSchema(t *testing.T) {
	published(t, "comparison.schema.json", "One trip for several cars or days, as ampleway trip --format json writes it", &report.ComparisonDocument{}, report.ComparisonSchema())
	d, err := input.DemoTrip()
	if err != nil {
		t.Fatal(err)
	}
	r, err := input.Here.Route("demo:north")
	if err != nil {
		t.Fatal(err)
	}
	network, err := input.Here.Stations(t.Context(), []string{input.Demo}, open.Options{}, "")
	if err != nil {
		t.Fatal(err)
	}
	var cases []trip.Case
	for name, temp := range map[string]float64{"mid-size-sedan": 20, "small-hatch": -15} {
		car, err := input.Here.Car(name)
		if err != nil {
			t.Fatal(err)
		}
		ask := d.Question
		ask.TempC = temp
		cases = append(cases, trip.Case{Car: car, Ask: ask})
	}
	itinerary := trip.Itinerary{Routes: []*route.Route{r}, Stations: network.Index}
	compared, err := itinerary.Compare(t.Context(), nil, cases, trip.PlanOptions{})
	if err != nil {
		t.Fatal(err)
	}
	possible := 0
	for _, c := range compared {
		if c.Plan != nil {
			possible++
		}
	}
	if possible != 1 {
		t.Fatalf("%d of %d cases can be made, want one of each kind", possible, len(compared))
	}
	var out bytes.Buffer
	if err := report.Comparison(&out, "json", compared, report.Options{Note: d.Note}); err != nil {
		t.Fatal(err)
	}
	compiled := compile(t, report.ComparisonSchema())
	fits(t, compiled, "both kinds", out.Bytes())
	refuses(t, compiled, out.Bytes(), map[string]any{
		"format": "ampleway-trip-comparison/2", "length_km": -1, "cases": []any{}, "cautions": "none", "an_unknown_key": 1,
	})
}

// The sums of the whole are those of its parts.
func TestVisitDocumentCloses(t *testing.T) {
	visit, o := thereAndBack(t, "6h level2:40", nil)
	d := report.NewVisitDocument(visit, o)
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
	if s := d.Stays[0]; s.ArriveSoCPct != d.Drives[0].ArrivalSoCPct || s.LeaveSoCPct != d.Drives[1].DepartSoCPct {
		t.Errorf("the stay %+v does not join %g %% and %g %%", s, d.Drives[0].ArrivalSoCPct, d.Drives[1].DepartSoCPct)
	}
	if !d.EndsAtStart || d.ArrivalSoCPct != d.Drives[1].ArrivalSoCPct {
		t.Errorf("ends at the start: %v, with %g %%", d.EndsAtStart, d.ArrivalSoCPct)
	}
}

func TestVisitCSV(t *testing.T) {
	visit, o := thereAndBack(t, "6h level2:40", nil)
	rows, err := csv.NewReader(bytes.NewReader(writeVisit(t, "csv", visit, o))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	single, err := csv.NewReader(bytes.NewReader(write(t, "csv", visit.Plans[1], o))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if got, want := fmt.Sprint(rows[0]), fmt.Sprint(append([]string{"drive"}, single[0]...)); got != want {
		t.Errorf("columns %s, want %s", got, want)
	}
	back := 0
	for _, row := range rows[1:] {
		if row[0] == "2" {
			back++
			if got, want := fmt.Sprint(row[1:]), fmt.Sprint(single[back]); got != want {
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
func TestVisitReadByOthers(t *testing.T) {
	visit, o := thereAndBack(t, "6h level2:40", nil)
	gpxText := writeVisit(t, "gpx", visit, o)
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
	for name, text := range map[string][]byte{gpx: gpxText, gj: writeVisit(t, "geojson", visit, o)} {
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
func TestVisitEscapesNames(t *testing.T) {
	const hostile = `<script>alert("x")</script> & 'y', "z"`
	visit, o := thereAndBack(t, "6h level2:40", func(r *route.Route, _ *stations.Index, ask *question.Question) {
		r.Name, ask.StartName, ask.EndName = hostile, hostile+" start", hostile+" end"
	})
	site := *visit.Plans[0].Stops[0].Charger.Site
	site.Name, site.Operator, site.Amenities = hostile, hostile, []string{hostile}
	visit.Plans[0].Stops[0].Charger.Site = &site
	o.Note = hostile
	for _, format := range []string{"html", "gpx"} {
		if text := writeVisit(t, format, visit, o); bytes.Contains(text, []byte("<script")) {
			t.Errorf("%s holds a name as markup", format)
		}
	}
	if _, err := read.Read(bytes.NewReader(writeVisit(t, "gpx", visit, o)), "x", read.Options{Part: 1}); err != nil {
		t.Errorf("gpx: %v", err)
	}
	for _, format := range []string{"json", "geojson"} {
		var v any
		if err := json.Unmarshal(writeVisit(t, format, visit, o), &v); err != nil {
			t.Errorf("%s: %v", format, err)
		}
	}
	rows, err := csv.NewReader(bytes.NewReader(writeVisit(t, "csv", visit, o))).ReadAll()
	if err != nil || rows[2][2] != hostile {
		t.Errorf("csv: %v, %q", err, rows[2])
	}
}

func TestVisitSheet(t *testing.T) {
	visit, o := thereAndBack(t, "6h level2:40", nil)
	sheet := string(writeVisit(t, "html", visit, o))
	for text, times := range map[string]int{
		"Home again with":                   2, // title and heading
		"Never drive on below your reserve": 1, "a licensed electrician decides": 1, "What this rests on": 1, "Take care": 1,
		"<h2>The stay": 1, "<h2>Drive 1: ": 1, "<h2>Drive 2: ": 1, "<svg": 4, "If it cannot charge you": len(visit.Plans[0].Stops) + len(visit.Plans[1].Stops),
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
func TestVisitAssumptionsSayWhose(t *testing.T) {
	visit, o := thereAndBack(t, "6h none", nil)
	back := *visit.Plans[1].Drive
	back.Conditions.TempC = -7
	visit.Plans[1].Drive = &back
	text := strings.Join(strings.Fields(string(writeVisit(t, "text", visit, o))), " ")
	for want, times := range map[string]int{"Drive 1: Weather: 8 °C": 1, "Drive 2: Weather: -7 °C": 1, "Car: ": 1, "licensed electrician": 0} {
		if got := strings.Count(text, want); got != times {
			t.Errorf("%q stands there %d times, want %d:\n%s", want, got, times, text)
		}
	}
}

// A writer that fails half-way is reported by every format.
func TestVisitFullDisk(t *testing.T) {
	visit, o := thereAndBack(t, "6h none", nil)
	for _, format := range report.Formats() {
		w, err := report.For(format)
		if err != nil {
			t.Fatal(err)
		}
		if err := w(&limited{most: 100}, visit, o); err == nil {
			t.Errorf("%s: a full disk is not noticed", format)
		}
	}
}
