package answer_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/input"
	"ampleway/route/question"
	"ampleway/route/read"
	"ampleway/route/trip"
	"ampleway/stations"
	"ampleway/stations/open"
	"ampleway/testdata"

	reflector "github.com/invopop/jsonschema"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// demoInputs are those of the demo's trip.
func demoInputs(t testing.TB) (input.Trip, *route.Route, *stations.Index, *energy.Car) {
	t.Helper()
	d, err := input.DemoTrip()
	if err != nil {
		t.Fatal(err)
	}
	r, err := input.Here.Route("demo:" + d.Corridor)
	if err != nil {
		t.Fatal(err)
	}
	network, err := input.Here.Stations(t.Context(), []string{input.Demo}, open.Options{}, "")
	if err != nil {
		t.Fatal(err)
	}
	car, err := input.Here.Car(d.Car)
	if err != nil {
		t.Fatal(err)
	}
	return d, r, network.Index, car
}

// demo plans the demo trip, changed by change.
func demo(t testing.TB, change func(*question.Question)) (*trip.Plan, answer.Options) {
	t.Helper()
	d, r, index, car := demoInputs(t)
	if change != nil {
		change(&d.Question)
	}
	drive, goal, err := trip.Prepare(r, index, car, d.Question)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := drive.Plan(nil, goal)
	if err != nil {
		t.Fatal(err)
	}
	if err := plan.Assure(nil, trip.AssureOptions{}); err != nil {
		t.Fatal(err)
	}
	return plan, answer.Options{Note: d.Note}
}

func write(t testing.TB, format string, s answer.Subject, o answer.Options) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := answer.Write(&out, format, s, o); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// The words and the figures of every form; what is mostly points of the road is
// held by the schema and by other programs.
func TestGolden(t *testing.T) {
	plan, o := demo(t, nil)
	for _, format := range []string{"text", "csv", "html"} {
		testdata.Golden(t, "demo-trip."+format, write(t, format, answer.Alone(plan), o))
	}
	o.Units, o.Rows = question.US, true
	testdata.Golden(t, "demo-trip-us.text", write(t, "text", answer.Alone(plan), o))
}

// published compares a schema in use with the one that the types give.
func published(t *testing.T, name, title string, document any, inUse []byte) {
	t.Helper()
	r := reflector.Reflector{DoNotReference: true, Anonymous: true}
	s := r.Reflect(document)
	s.Title = title
	made, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	made = append(made, '\n')
	if os.Getenv("AMPLEWAY_UPDATE") != "" {
		if err := os.WriteFile(name, made, 0o644); err != nil {
			t.Fatal(err)
		}
		t.Skip("written")
	}
	if !bytes.Equal(made, inUse) {
		t.Fatalf("%s is not what the types give; AMPLEWAY_UPDATE=1 writes it", name)
	}
}

// fits validates a document against a schema.
func fits(t *testing.T, s *jsonschema.Schema, what string, document []byte) {
	t.Helper()
	instance, err := jsonschema.UnmarshalJSON(bytes.NewReader(document))
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Validate(instance); err != nil {
		t.Errorf("%s: %v", what, err)
	}
}

// refuses validates a document with one key changed, for each of changes.
func refuses(t *testing.T, s *jsonschema.Schema, document []byte, changes map[string]any) {
	t.Helper()
	for key, value := range changes {
		var doc map[string]any
		if err := json.Unmarshal(document, &doc); err != nil {
			t.Fatal(err)
		}
		doc[key] = value
		if err := s.Validate(doc); err == nil {
			t.Errorf("the schema accepts %s = %v", key, value)
		}
	}
}

// The published schema is the one that the types give, and every document
// validates against it.
func TestSchema(t *testing.T) {
	published(t, "journey.schema.json", "A journey, as ampleway trip --format json writes it", &answer.Document{}, answer.Schema())
	compiled := compile(t, answer.Schema())
	for name, change := range map[string]func(*question.Question){
		"demo":         nil,
		"no clock":     func(r *question.Question) { r.Depart = "" },
		"winter":       func(r *question.Question) { r.TempC, r.Surface = -15, "snow" },
		"unpriced too": func(r *question.Question) { r.Best = "fewest-stops" },
	} {
		plan, o := demo(t, change)
		fits(t, compiled, name, write(t, "json", answer.Alone(plan), o))
	}
}

func TestSchemaRefuses(t *testing.T) {
	compiled := compile(t, answer.Schema())
	plan, o := demo(t, nil)
	refuses(t, compiled, write(t, "json", answer.Alone(plan), o), map[string]any{
		"distance_km": -1, "reach_pct": 101, "format": "something else", "stays": "none", "an_unknown_key": 1, "drives": []any{},
	})
}

func compile(t *testing.T, text []byte) *jsonschema.Schema {
	t.Helper()
	parsed, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("trip.json", parsed); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("trip.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The energy of the document closes: departure + charged − driven = arrival,
// and its times add up.
func TestDocumentCloses(t *testing.T) {
	for _, temp := range []float64{-15, 0, 20, 35} {
		plan, o := demo(t, func(r *question.Question) { r.TempC = temp })
		whole := answer.NewDocument(answer.Alone(plan), o)
		d := whole.Drives[0]
		left := d.LeavePct/100*whole.CapacityKWh + d.ChargedKWh - d.DrivenKWh
		if want := d.ReachPct / 100 * whole.CapacityKWh; math.Abs(left-want) > 0.01 {
			t.Errorf("%g °C: %.4f kWh are left, %.4f stated", temp, left, want)
		}
		legs, charged, dwell, detour, kmSum := 0.0, 0.0, 0.0, 0.0, 0.0
		for _, l := range d.Legs {
			legs += l.EnergyKWh
			kmSum += l.DistanceKM
		}
		for _, s := range d.Stops {
			charged += s.EnergyKWh
			dwell += s.DwellMin
			detour += s.DetourMin
		}
		for what, pair := range map[string][2]float64{
			"energy of the legs":   {legs, d.DrivenKWh},
			"energy of the stops":  {charged, d.ChargedKWh},
			"distance of the legs": {kmSum, d.DistanceKM},
			"driving and stops":    {d.DrivingMin - detour + dwell, d.DurationMin},
			"charging and setup":   {d.ChargingMin + d.SetupMin, dwell - detour},
		} {
			if math.Abs(pair[0]-pair[1]) > 0.01 {
				t.Errorf("%g °C, %s: %g against %g", temp, what, pair[0], pair[1])
			}
		}
	}
}

func TestCSV(t *testing.T) {
	plan, o := demo(t, nil)
	rows, err := csv.NewReader(bytes.NewReader(write(t, "csv", answer.Alone(plan), o))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != len(plan.Stops)+3 {
		t.Fatalf("%d rows for %d stops", len(rows), len(plan.Stops))
	}
}

// The road survives a round trip through the written GPX and GeoJSON.
func TestRoadReadsBack(t *testing.T) {
	plan, o := demo(t, nil)
	want := plan.Drive.Corridor.Route
	for _, format := range []string{"gpx", "geojson"} {
		part := 0
		if format == "gpx" {
			part = 1
		}
		got, err := read.Read(bytes.NewReader(write(t, format, answer.Alone(plan), o)), "x", read.Options{Part: part})
		if err != nil {
			t.Errorf("%s: %v", format, err)
			continue
		}
		if math.Abs(got.LengthM()-want.LengthM()) > 1e-4*want.LengthM() {
			t.Errorf("%s: %.0f m read back, %.0f m written", format, got.LengthM(), want.LengthM())
		}
	}
}

// GPX is read back by GDAL and by gpsbabel, GeoJSON by GDAL: general-purpose
// programs that share nothing with this one.
func TestReadByOthers(t *testing.T) {
	ogrinfo, gpsbabel := testdata.Tool(t, "ogrinfo"), testdata.Tool(t, "gpsbabel")
	plan, o := demo(t, nil)
	folder := t.TempDir()
	gpx, gj := filepath.Join(folder, "trip.gpx"), filepath.Join(folder, "trip.geojson")
	for name, format := range map[string]string{gpx: "gpx", gj: "geojson"} {
		if err := os.WriteFile(name, write(t, format, answer.Alone(plan), o), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	stops := len(plan.Stops)
	points := plan.Drive.Corridor.Route.Len()
	summary := command(t, ogrinfo, "-ro", "-so", "-al", gpx)
	for layer, count := range map[string]int{"waypoints": stops, "routes": 1, "tracks": 1, "route_points": stops + 2, "track_points": points} {
		if got := featureCount(summary, layer); got != count {
			t.Errorf("ogrinfo counts %d in %s, want %d", got, layer, count)
		}
	}
	if got, want := featureCount(command(t, ogrinfo, "-ro", "-so", "-al", gj), "trip"), stops+2+len(plan.Legs); got != want {
		t.Errorf("ogrinfo counts %d features in the GeoJSON, want %d", got, want)
	}
	// gpsbabel writes one row for each waypoint, with its name.
	rows := command(t, gpsbabel, "-i", "gpx", "-f", gpx, "-o", "unicsv", "-F", "-")
	for i := range plan.Stops {
		if name := trip.SiteName(plan.Stops[i].Charger.Site); !strings.Contains(rows, name) {
			t.Errorf("gpsbabel does not give back stop %q", name)
		}
	}
	if got := strings.Count(strings.TrimSpace(rows), "\n"); got != stops {
		t.Errorf("gpsbabel gives back %d waypoints, want %d", got, stops)
	}
}

func command(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).Output()
	if err != nil {
		t.Fatalf("%s %v: %v", name, args, err)
	}
	return string(out)
}

// featureCount finds a layer's "Feature Count" in ogrinfo's summary.
func featureCount(summary, layer string) int {
	_, rest, ok := strings.Cut(summary, "Layer name: "+layer+"\n")
	if !ok {
		return -1
	}
	_, rest, _ = strings.Cut(rest, "Feature Count: ")
	n := 0
	for _, r := range rest {
		if r < '0' || r > '9' {
			break
		}
		n = 10*n + int(r-'0')
	}
	return n
}

func TestRounding(t *testing.T) {
	for _, c := range []struct {
		soc            float64
		arrive, leave_ string
	}{{0.1, "10 %", "10 %"}, {0.1549, "15 %", "16 %"}, {0.29999999999, "30 %", "30 %"}, {0, "0 %", "0 %"}, {1, "100 %", "100 %"}} {
		if got := answer.Arriving(c.soc); got != c.arrive {
			t.Errorf("Arriving(%v) = %q, want %q", c.soc, got, c.arrive)
		}
		if got := answer.Leaving(c.soc); got != c.leave_ {
			t.Errorf("Leaving(%v) = %q, want %q", c.soc, got, c.leave_)
		}
	}
}

// A writer that fails half-way is reported by every format.
func TestFullDisk(t *testing.T) {
	plan, o := demo(t, nil)
	for _, format := range answer.Formats(answer.Journey{}) {
		if err := answer.Write(&limited{most: 100}, format, answer.Alone(plan), o); err != io.ErrShortWrite {
			t.Errorf("%s: error %v, want %v", format, err, io.ErrShortWrite)
		}
	}
}

type limited struct{ most int }

func (l *limited) Write(p []byte) (int, error) {
	if l.most -= len(p); l.most < 0 {
		return 0, io.ErrShortWrite
	}
	return len(p), nil
}
