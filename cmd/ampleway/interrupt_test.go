package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// endWithin is how soon an interrupted program ends on an idle machine; a
// busy one is given the longer time.
const (
	endWithin  = 500 * time.Millisecond
	busyWithin = 5 * time.Second
)

// A signal ends every command soon, in the midst of its work, with exit code
// 130, and leaves no part of a file.
func TestSignalsEndEveryCommand(t *testing.T) {
	dir := t.TempDir()
	many := bigStations(t, dir)
	longRoad := pointsAlong(t, dir, 150_000)
	// A wanted arrival with a meal by cost, for which many departures are planned.
	meal := []string{"trip", "--meal", "04:00-04:30 30m", "--arrive-by", "2026-12-24T18:00", "--best", "cost"}
	commands := map[string][]string{
		"trip":   append(meal, "-o", filepath.Join(dir, "trip.html")),
		"road":   {"trip", "--route", longRoad, "--stations", many, "--half-width", "50", "-o", filepath.Join(dir, "road.json")},
		"import": {"stations", "import", many, "-o", filepath.Join(dir, "sites.parquet")},
		"year":   {"year", "-o", filepath.Join(dir, "year.html")},
		"study":  {"margins", studyFile(t, dir), "-o", filepath.Join(dir, "study")},
		"serve":  {"serve", "--addr", "127.0.0.1:0"},
		"stdin":  {"trip", "--route", "-", "--stations", "demo"},
		"fit":    {"car", "fit", longLog(t, dir)},
	}
	if testing.Short() {
		delete(commands, "study")
		delete(commands, "year")
	}
	for name, args := range commands {
		for _, signal := range []os.Signal{os.Interrupt, syscall.SIGTERM} {
			t.Run(fmt.Sprintf("%s/%v", name, signal), func(t *testing.T) {
				before := files(t, dir)
				took, ended := signalled(t, args, 150*time.Millisecond, signal)
				if ended {
					t.Skipf("%s ended before the signal came", name)
				}
				t.Logf("ended %d ms after the signal", took.Milliseconds())
				if took > busyWithin {
					t.Errorf("it took %s", took)
				}
				if after := files(t, dir); after != before && name != "study" {
					t.Errorf("files before:\n%s\nand after:\n%s", before, after)
				}
			})
		}
	}
}

// signalled starts the program, signals it after a while, and returns how
// long it then took, or that it had ended before. On a busy machine a program
// may not have begun to listen by then; it is started again and given longer.
func signalled(t *testing.T, args []string, after time.Duration, signal os.Signal) (took time.Duration, ended bool) {
	t.Helper()
	c := program(t, args...)
	c.Env = append(c.Env, "TMPDIR="+t.TempDir())
	in, err := c.StdinPipe() // stays open: the program may wait for it
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	var out bytes.Buffer
	c.Stderr = &out
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	time.Sleep(after)
	if err := c.Process.Signal(signal); err != nil {
		return 0, true
	}
	start := time.Now()
	err = c.Wait()
	took = time.Since(start)
	var exit *exec.ExitError
	switch {
	case err == nil:
		return took, true
	case errors.As(err, &exit) && exit.ExitCode() == -1 && after < 5*time.Second:
		t.Logf("signalled after %s, before it began to listen", after)
		return signalled(t, args, 2*after, signal)
	case exit == nil || exit.ExitCode() != exitInterrupted:
		t.Fatalf("%v: %s", err, out.String())
	case !strings.Contains(out.String(), interrupted):
		t.Errorf("it says %q", out.String())
	}
	return took, false
}

// written puts a text that make writes into a file.
func written(t *testing.T, path string, make func(*strings.Builder)) string {
	t.Helper()
	var b strings.Builder
	make(&b)
	if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func bigStations(t *testing.T, dir string) string {
	return written(t, filepath.Join(dir, "big.csv"), func(b *strings.Builder) {
		b.WriteString("id,name,lon,lat,operator,connector,power_kw,stalls\n")
		for i := range 200_000 {
			fmt.Fprintf(b, "s%d,Invented %d,%.4f,%.4f,North,CCS2,%d,4\n", i, i, 10+float64(i%500)/100, 50+float64(i/500)/100, 50+i%300)
		}
	})
}

func pointsAlong(t *testing.T, dir string, n int) string {
	return written(t, filepath.Join(dir, "long.geojson"), func(b *strings.Builder) {
		b.WriteString(`{"type": "LineString", "coordinates": [`)
		for i := range n {
			fmt.Fprintf(b, "[%.6f, %.6f],", 10+5*float64(i)/float64(n), 51+float64(i%2)/1e5)
		}
		b.WriteString(`[15, 51]]}`)
	})
}

func studyFile(t *testing.T, dir string) string {
	return written(t, filepath.Join(dir, "study.yaml"), func(b *strings.Builder) {
		b.WriteString(`format: ampleway-study-2
corridors: [demo:north, demo:pass, demo:upland]
stations: [demo]
cars: [small-hatch, mid-size-sedan, crossover]
temp_c: [20, 15, 10, 5, 0, -5, -10, -15]
leave_with_pct: [70, 80, 90, 100]
reserve_pct: {from: 0, to: 30, step: 1}
`)
	})
}

func longLog(t *testing.T, dir string) string {
	return written(t, filepath.Join(dir, "log.csv"), func(b *strings.Builder) {
		b.WriteString("time_s,speed_kmh,battery_v,battery_a\n")
		for i := range 1_500_000 {
			fmt.Fprintf(b, "%d,%d,360,%d\n", i, 50+i%40, -20-i%60)
		}
	})
}

// files lists the names and sizes of all files in a folder.
func files(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, e := range entries {
		info, err := e.Info()
		if err != nil {
			t.Fatal(err)
		}
		if !e.IsDir() {
			fmt.Fprintln(&b, e.Name(), info.Size())
		}
	}
	return b.String()
}
