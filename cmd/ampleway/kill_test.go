package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ampleway/testdata"
)

// asProgram makes the test binary the program itself, so that a test can kill it.
const asProgram = "AMPLEWAY_AS_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		main()
	}
	os.Exit(m.Run())
}

func program(t testing.TB, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(self, args...)
	c.Env = append(os.Environ(), asProgram+"=1")
	return c
}

// killed is what kills at random moments left behind.
type killed struct{ absent, old, whole, strays int }

func (k *killed) add(o killed) {
	k.absent += o.absent
	k.old += o.old
	k.whole += o.whole
	k.strays += o.strays
}

// A kill at any moment leaves the file of before, or none, or the whole new
// one: never a part. Half of the kills come at any time of the run, the others
// as soon as a file that is being written shows up. With AMPLEWAY_SLOW=1 there
// are more than 100.
func TestKilledWhileWriting(t *testing.T) {
	each := 2
	if testdata.Slow() {
		each = 24
	}
	one, other, _, _ := folder(t)
	many := manyStations(t)
	var all killed
	outputs := map[string][]string{
		"trip.html":     {"trip", "--format", "html", "-o"},
		"trip.json":     {"trip", "--format", "json", "-o"},
		"trip.gpx":      {"trip", "--format", "gpx", "-o"},
		"year.html":     {"year", "--format", "html", "-o"},
		"sites.parquet": {"stations", "import", one, other, many, "-o"},
		"car.json":      {"car", "show", "van", "--format", "json", "-o"},
	}
	if !testdata.Slow() {
		delete(outputs, "year.html") // seconds a run
	}
	for name, args := range outputs {
		t.Run(name, func(t *testing.T) {
			k := killWriting(t, name, args, each)
			t.Logf("%+v", k)
			all.add(k)
		})
	}
	t.Logf("all: %+v", all)
}

func manyStations(t *testing.T) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("id,name,lon,lat,operator,connector,power_kw,stalls\n")
	for i := range 4000 {
		fmt.Fprintf(&b, "s%d,Invented %d,%.4f,%.4f,North,CCS2,%d,4\n", i, i, 10+float64(i%200)/50, 50+float64(i/200)/50, 50+i%300)
	}
	path := filepath.Join(t.TempDir(), "many.csv")
	if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func killWriting(t *testing.T, name string, args []string, times int) (k killed) {
	dir := t.TempDir()
	path := filepath.Join(dir, name)
	args = append(args, path)
	start := time.Now()
	if out, err := program(t, args...).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	length := time.Since(start)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	old := []byte("what was there before\n")
	for i := range times {
		empty(t, dir)
		before := rand.IntN(2) == 0
		if before {
			if err := os.WriteFile(path, old, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		c := program(t, args...)
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		if i%2 == 0 {
			time.Sleep(time.Duration(rand.Float64() * 1.1 * float64(length)))
		} else {
			awaitNewFile(t, dir, name, 3*length+time.Second)
			time.Sleep(time.Duration(rand.IntN(3000)) * time.Microsecond)
		}
		c.Process.Kill() // it may be over already
		c.Wait()
		got, err := os.ReadFile(path)
		switch {
		case os.IsNotExist(err) && !before:
			k.absent++
		case err != nil:
			t.Fatal(err)
		case bytes.Equal(got, old) && before:
			k.old++
		case bytes.Equal(got, whole):
			k.whole++
		default:
			t.Fatalf("%s is neither the file of before nor a whole new one: %d bytes of %d", name, len(got), len(whole))
		}
		k.strays += len(others(t, dir, name))
	}
	if out, err := program(t, args...).CombinedOutput(); err != nil {
		t.Fatalf("what the kills left is in the way: %v: %s", err, out)
	}
	return k
}

func others(t *testing.T, dir, name string) (names []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.Name() != name {
			names = append(names, e.Name())
		}
	}
	return names
}

func empty(t *testing.T, dir string) {
	t.Helper()
	for _, name := range others(t, dir, "") {
		if err := os.RemoveAll(filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
}

func awaitNewFile(t *testing.T, dir, name string, most time.Duration) {
	t.Helper()
	for end := time.Now().Add(most); time.Now().Before(end); time.Sleep(50 * time.Microsecond) {
		if len(others(t, dir, name)) > 0 {
			return
		}
	}
}

// A study that is killed leaves whole files or none, and --resume then gives
// the folder of a run that was left alone, byte for byte.
func TestStudyKilledWhileWriting(t *testing.T) {
	testdata.Sequential(t)
	times := 2
	if testdata.Slow() {
		times = 24
	}
	study := filepath.Join(t.TempDir(), "study.yaml")
	must(t, os.WriteFile(study, []byte("format: ampleway-study-2\nstations: [demo]\ncorridors: [demo:north, demo:pass]\ncars: [small-hatch]\nconfidence_pct: [0]\nreserve_pct: {from: 0, to: 30, step: 2}\n"), 0o644))
	want := filepath.Join(t.TempDir(), "want")
	start := time.Now()
	if out, err := program(t, "margins", study, "--quiet", "-o", want).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	length := time.Since(start)
	strays := 0
	for range times {
		got := filepath.Join(t.TempDir(), "got")
		c := program(t, "margins", study, "--quiet", "-o", got)
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(rand.Float64() * float64(length)))
		c.Process.Kill() // it may be over already
		c.Wait()
		strays += sameFiles(t, want, got)
		if out, err := program(t, "margins", study, "--quiet", "--resume", "-o", got).CombinedOutput(); err != nil {
			t.Fatalf("--resume: %v: %s", err, out)
		}
		if left := sameFiles(t, want, got); left > 0 || len(others(t, got, "")) != len(others(t, want, "")) {
			t.Fatalf("after --resume the folder holds %v", others(t, got, ""))
		}
	}
	t.Logf("%d kills, %d unfinished folders left, all gone after --resume", times, strays)
}

// sameFiles compares every finished file of a folder and counts what is unfinished.
func sameFiles(t *testing.T, want, got string) (unfinished int) {
	t.Helper()
	entries, err := os.ReadDir(got)
	if os.IsNotExist(err) {
		return 0
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") {
			unfinished++
			continue
		}
		a, err := os.ReadFile(filepath.Join(want, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		b, err := os.ReadFile(filepath.Join(got, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(a, b) {
			t.Fatalf("%s is not whole: %d bytes of %d", e.Name(), len(b), len(a))
		}
	}
	return unfinished
}
