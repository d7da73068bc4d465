package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"ampleway/data"
	"ampleway/route/study"
	"ampleway/testdata"

	"github.com/goccy/go-yaml"
)

func margins(t *testing.T, ctx context.Context, args ...string) (code int, out, errOut string) {
	t.Helper()
	var o, e bytes.Buffer
	code = run(ctx, append([]string{"margins"}, args...), strings.NewReader(""), &o, &e)
	return code, o.String(), e.String()
}

// Without arguments the demo's study is run, and says which corridor fails
// first and why.
func TestMarginsDemo(t *testing.T) {
	code, out, errOut := margins(t, context.Background())
	if code != exitOK {
		t.Fatalf("exit code %d: %s", code, errOut)
	}
	for _, want := range []string{"378 cases on 3 corridors", "1  north", "First failure: small-hatch", "kWh are missing", "One more station, of 150 kW, helps time most at km 320, between Cape Weir Keepers House (km 231) and Long Barrens Hut (km 342)",
		"percentage points of charge on average, over 18 combinations of car, day and departure", "Worst station to lose: Cape Weir at km 229 (ORR078)"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in:\n%s", want, out)
		}
	}
}

// From a folder of GPX files, made by GDAL from the demo's roads, to which
// corridor fails first in winter, and why.
func TestMarginsFromFolderOfGPX(t *testing.T) {
	ogr := testdata.Tool(t, "ogr2ogr")
	folder := t.TempDir()
	for _, name := range data.Corridors() {
		text, err := data.Corridor(name)
		if err != nil {
			t.Fatal(err)
		}
		geo := filepath.Join(folder, name+".geojson")
		if err := os.WriteFile(geo, text, 0o644); err != nil {
			t.Fatal(err)
		}
		if text, err := exec.Command(ogr, "-f", "GPX", "-dsco", "GPX_USE_EXTENSIONS=YES", filepath.Join(folder, name+".gpx"), geo).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, text)
		}
	}
	path := filepath.Join(folder, "winter.yaml")
	const text = `format: ampleway-study-2
corridors: ["*.gpx"]
stations: [demo]
cars: [small-hatch, van]
temp_c: [20, 5, -15]
surface: [snow]
reserve_pct: [10, 20]
`
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(folder, "out")
	code, printed, errOut := margins(t, context.Background(), path, "-o", out, "--csv", "--format", "json")
	if code != exitOK {
		t.Fatalf("exit code %d: %s", code, errOut)
	}
	var s study.Summary
	if err := json.Unmarshal([]byte(printed), &s); err != nil {
		t.Fatal(err)
	}
	first := s.Ranked()[0]
	if first.Name != "north" || first.First == nil || first.First.Why != "energy" {
		t.Errorf("first to fail: %s, %+v", first.Name, first.First)
	}
	// The Long Barrens have no fast charger on 200 km.
	if f := first.First; f != nil && f.ToKM-f.FromKM < 190 {
		t.Errorf("fails from km %g to %g", f.FromKM, f.ToKM)
	}
	for _, name := range []string{"cases.parquet", "cases.csv", "manifest.json", "summary.txt", "summary.json", "build.geojson", "report.html"} {
		if info, err := os.Stat(filepath.Join(out, name)); err != nil || info.Size() == 0 {
			t.Errorf("%s: %v", name, err)
		}
	}
	if code, printed, _ := margins(t, context.Background(), "compare", out, out); code != exitOK || !strings.Contains(printed, "north") {
		t.Errorf("compare: exit code %d: %s", code, printed)
	}
}

// Exit codes: a fault among the inputs, a wrong study, an interruption.
func TestMarginsExitCodes(t *testing.T) {
	folder := t.TempDir()
	write := func(text string) string {
		path := filepath.Join(folder, "study.yaml")
		if err := os.WriteFile(path, []byte("format: ampleway-study-2\nstations: [demo]\n"+text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	ended, stop := context.WithCancel(context.Background())
	stop()
	for _, c := range []struct {
		name string
		ctx  context.Context
		args []string
		code int
		says string
	}{
		{"a corridor that is not there", context.Background(), []string{write("corridors: [demo:upland, no.gpx]\n")}, exitFailed, "1 thing could not be used"},
		{"no study", context.Background(), []string{filepath.Join(folder, "none.yaml")}, exitUsage, "none.yaml"},
		{"a part beyond the last", context.Background(), []string{"--part", "3/3"}, exitUsage, "--part"},
		{"resume without a folder", context.Background(), []string{"--resume"}, exitUsage, "--resume"},
		{"interrupted", ended, []string{"-o", filepath.Join(folder, "out")}, exitInterrupted, "--resume"},
	} {
		code, out, errOut := margins(t, c.ctx, c.args...)
		if code != c.code || !strings.Contains(errOut, c.says) {
			t.Errorf("%s: exit code %d, not %d: %s", c.name, code, c.code, errOut)
		}
		if c.name == "a corridor that is not there" && !strings.Contains(out, "corridor no") {
			t.Errorf("%s is not named in:\n%s", c.name, out)
		}
	}
}

// The part comes from the environment of the scheduler.
func TestParsePart(t *testing.T) {
	env := func(pairs ...string) func(string) string {
		return func(key string) string {
			for i := 0; i < len(pairs); i += 2 {
				if pairs[i] == key {
					return pairs[i+1]
				}
			}
			return ""
		}
	}
	for _, c := range []struct {
		text string
		env  func(string) string
		want study.Part
		good bool
	}{
		{"", env(), study.Part{}, true},
		{"2/5", env(), study.Part{Index: 2, Of: 5}, true},
		{"auto", env("SLURM_ARRAY_TASK_ID", "3", "SLURM_ARRAY_TASK_COUNT", "4"), study.Part{Index: 3, Of: 4}, true},
		{"auto", env("JOB_COMPLETION_INDEX", "0", "PARTS", "4"), study.Part{Index: 0, Of: 4}, true},
		{"auto", env(), study.Part{}, false},
		{"5/5", env(), study.Part{}, false},
		{"-1/5", env(), study.Part{}, false},
		{"1", env(), study.Part{}, false},
	} {
		got, err := parsePart(c.text, c.env)
		if (err == nil) != c.good || got != c.want {
			t.Errorf("%q: %+v, %v", c.text, got, err)
		}
	}
}

// The Kubernetes job has the fields that batch/v1 wants of an Indexed Job, with
// as many completions as parts, and a command that this program understands.
// (Checked for form; no cluster is asked.)
func TestMarginsJob(t *testing.T) {
	code, out, errOut := margins(t, context.Background(), "job")
	if code != exitOK {
		t.Fatal(errOut)
	}
	type container struct {
		Name, Image  string
		Command      []string
		Env          []struct{ Name, Value string }
		Resources    map[string]map[string]string
		VolumeMounts []map[string]string `yaml:"volumeMounts"`
	}
	var job struct {
		APIVersion string `yaml:"apiVersion"`
		Kind       string
		Metadata   map[string]string
		Spec       struct {
			CompletionMode string `yaml:"completionMode"`
			Completions    int
			Parallelism    int
			BackoffLimit   int `yaml:"backoffLimit"`
			Template       struct {
				Spec struct {
					RestartPolicy string `yaml:"restartPolicy"`
					Containers    []container
					Volumes       []map[string]any
				}
			}
		}
	}
	if err := yaml.UnmarshalWithOptions([]byte(out), &job, yaml.Strict()); err != nil {
		t.Fatal(err)
	}
	c := job.Spec.Template.Spec.Containers[0]
	if job.APIVersion != "batch/v1" || job.Kind != "Job" || job.Spec.CompletionMode != "Indexed" || c.Env[0].Name != "PARTS" || c.Env[0].Value != strconv.Itoa(job.Spec.Completions) {
		t.Errorf("%+v", job)
	}
	command, _, err := newRoot(func() {}).Find(c.Command[1:3])
	if err != nil || command.Name() != "margins" {
		t.Fatalf("%v: %v", c.Command, err)
	}
	if err := command.ParseFlags(c.Command[3:]); err != nil {
		t.Error(err)
	}
}

// What an analyst runs one after the other: a study with a road that no station
// file covers, the same without a station and with outages, a comparison, a
// second run on a folder in use, ranges that are none.
func TestMarginsToldTruly(t *testing.T) {
	folder := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, []byte("format: ampleway-study-2\nstations: [demo]\ncorridors: [demo:upland]\ncars: [small-hatch]\n"+text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	at := func(name string) string { return filepath.Join(folder, name) }
	a := write("a.yaml", "between: [{name: elsewhere, from: [10, 50], to: [16, 50]}]\nreserve_pct: [10, 20]\n")
	b := write("b.yaml", "outages: {none: true, random: {down: 1, sets: 300}}\nreserve_pct: [20, 30]\n")
	for _, c := range []struct {
		args []string
		code int
		says []string
	}{
		{[]string{a, "-o", at("a")}, exitOK, []string{"2 cases on 1 corridor; ", "No data for 1 corridor (2 cases)", "no data"}},
		{[]string{b, "-o", at("b")}, exitOK, []string{"28 cases on 1 corridor, 26 of them with stations out of order", "13 different outages: "}},
		{[]string{"compare", at("a"), at("b")}, exitOK, []string{"upland: 1 case is only in the first: reserve_pct 10", "upland: 27 cases are only in the second: outage ORR", "only in the first: corridor elsewhere", "differs between them: study"}},
		{[]string{write("zero.yaml", "reserve_pct: {from: 0, to: 30, step: 0}\n")}, exitUsage, []string{"zero.yaml, reserve_pct: found from 0 to 30 in steps of 0: expected a step above 0"}},
		{[]string{write("many.yaml", "reserve_pct: {from: 0, to: 100, step: 1e-7}\n")}, exitUsage, []string{"reserve_pct", "1e+09 values", "at most 100000 values"}},
	} {
		code, out, errOut := margins(t, context.Background(), append(c.args, "--format", "text")...)
		if code != c.code {
			t.Fatalf("%v: exit code %d: %s", c.args, code, errOut)
		}
		for _, want := range c.says {
			if !strings.Contains(out+errOut, want) {
				t.Errorf("%v: no %q in:\n%s", c.args, want, out+errOut)
			}
		}
	}
	page, err := os.ReadFile(filepath.Join(at("a"), study.PageFile))
	if err != nil || !strings.Contains(string(page), "no data") || !strings.Contains(string(page), "A percentage point is one hundredth") {
		t.Errorf("the page says nothing of it: %v", err)
	}
}
