package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ampleway/testdata"
)

// The real drives of one small car: Steinstraeter et al., IEEE DataPort 2020,
// CC BY 4.0.
func realDrives(t *testing.T, pattern string) []string {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(testdata.OpenData(t, "drives"), pattern))
	if err != nil || len(paths) == 0 {
		t.Fatalf("%v, %d files", err, len(paths))
	}
	return paths
}

func TestCarFit(t *testing.T) {
	file := filepath.Join(t.TempDir(), "ours.yaml")
	args := append([]string{"car", "fit", "--write", file, "--name", "ours"}, realDrives(t, "b*.csv")...)
	code, out, errOut := ampleway(t, "", args...)
	if code != exitOK || errOut != "" {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	for _, want := range []string{"95 % interval", "user factor on traction energy", "mean absolute", "Spread", "Keep a reserve", "b38.csv"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	code, out, errOut = ampleway(t, "", "car", "show", file)
	if code != exitOK || !strings.Contains(out, "ours") {
		t.Errorf("the fitted car cannot be shown: exit %d, %s %s", code, out, errOut)
	}
}

func TestCarFitJSON(t *testing.T) {
	code, out, errOut := ampleway(t, "", append([]string{"car", "fit", "--format", "json", "--detail", "factor"}, realDrives(t, "b*.csv")...)...)
	if code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	var r struct {
		Detail    string `json:"detail"`
		Estimates []struct {
			Name   string
			Value  float64
			Low95  float64 `json:"low_95"`
			High95 float64 `json:"high_95"`
		}
		Check struct {
			MeanAbsolute float64 `json:"mean_absolute_error_pct"`
		}
	}
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatal(err)
	}
	if r.Detail != "factor" || len(r.Estimates) != 2 || !(r.Estimates[0].Low95 < r.Estimates[0].Value) || r.Check.MeanAbsolute == 0 {
		t.Errorf("%+v", r)
	}
}

// Invented logs that cannot tell, or cannot be read.
func TestCarFitRefuses(t *testing.T) {
	dir := t.TempDir()
	write := func(name, head string, rows int, row func(i int) string) string {
		var b strings.Builder
		b.WriteString(head + "\n")
		for i := range rows {
			b.WriteString(row(i) + "\n")
		}
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(b.String()), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	steady := write("steady.csv", "time_s,speed_kmh,battery_kw", 3000, func(i int) string { return fmt.Sprintf("%d,100,%g", i, -15-float64(i%7)/10) })
	short := write("short.csv", "time_s,speed_kmh,battery_kw", 60, func(i int) string { return fmt.Sprintf("%d,%d,-5", i, i) })
	mute := write("mute.csv", "time_s,speed_kmh,mood", 60, func(i int) string { return fmt.Sprintf("%d,%d,9", i, i) })
	bad := write("bad.csv", "time_s,speed_kmh,battery_kw", 1, func(int) string { return "0,fast,1" })
	for _, c := range []struct {
		args []string
		code int
		word string
	}{
		{[]string{steady}, exitFailed, "speed hardly varies"},
		{[]string{short}, exitFailed, "too short"},
		{[]string{mute}, exitFailed, "no energy signal"},
		{[]string{bad}, exitUsage, "line 2, speed_kmh"},
		{[]string{filepath.Join(dir, "absent.csv")}, exitUsage, "absent.csv"},
		{[]string{"--detail", "all", steady}, exitUsage, "auto, factor or full"},
		{[]string{"--format", "xml", steady}, exitUsage, "text or json"},
		{nil, exitUsage, "requires at least 1"},
	} {
		code, _, errOut := ampleway(t, "", append([]string{"car", "fit"}, c.args...)...)
		if code != c.code || !strings.Contains(errOut, c.word) {
			t.Errorf("%v: exit %d, %q; want %d with %q", c.args, code, errOut, c.code, c.word)
		}
	}
}
