//go:build unix

package main

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"ampleway/testdata"
)

// Where an output cannot go, the error names the path and says why, the exit
// code is 1, and what was there stays.
func TestOutputPaths(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	file := at("file")
	must(t, os.WriteFile(file, []byte("before"), 0o644))
	must(t, os.Mkdir(at("folder"), 0o755))
	must(t, os.Symlink("loop2", at("loop1")))
	must(t, os.Symlink("loop1", at("loop2")))
	must(t, os.Symlink("nowhere", at("dangling")))
	closed := "/sys/out.txt" // closed to every user
	if os.Geteuid() != 0 {
		must(t, os.Mkdir(at("closed"), 0o555))
		closed = at("closed/out.txt")
	}
	for _, c := range []struct{ path, says string }{
		{at("folder"), "it is a folder"},
		{at("loop1"), "too many"},
		{at("dangling"), "no such file"},
		{at("missing/out.txt"), "no such file"},
		{at("file/out.txt"), "not a directory"},
		{closed, "permission denied"},
		{"/dev/full", "no space left"},
	} {
		code, out, errOut := ampleway(t, "", "car", "show", "van", "-o", c.path)
		if code != exitFailed || out != "" || !strings.Contains(errOut, "cannot write "+c.path) || !strings.Contains(errOut, c.says) {
			t.Errorf("-o %s: exit code %d, %q", c.path, code, errOut)
		}
	}
	for _, path := range []string{file, at("loop1"), closed} {
		if code, _, errOut := ampleway(t, "", "margins", "--quiet", "-o", path); code != exitFailed || errOut == "" {
			t.Errorf("margins -o %s: exit code %d, %q", path, code, errOut)
		}
	}
	if text, err := os.ReadFile(file); err != nil || string(text) != "before" {
		t.Errorf("what was there is now %q, %v", text, err)
	}
	if info, err := os.Stat("/dev/full"); err != nil || info.Mode().IsRegular() {
		t.Errorf("/dev/full is no device any more: %v", err)
	}
	if names := others(t, dir, ""); len(names) > 7 {
		t.Errorf("something was left behind: %v", names)
	}
}

// A symbolic link stays one, and the rights of a file stay what they were.
func TestOutputThroughALink(t *testing.T) {
	dir := t.TempDir()
	must(t, os.Mkdir(filepath.Join(dir, "deep"), 0o755))
	target, link := filepath.Join(dir, "deep", "target"), filepath.Join(dir, "link")
	must(t, os.WriteFile(target, []byte("before"), 0o600))
	must(t, os.Symlink(filepath.Join("deep", "target"), link))
	_, want, _ := ampleway(t, "", "car", "show", "van")
	if code, _, errOut := ampleway(t, "", "car", "show", "van", "-o", link); code != exitOK {
		t.Fatalf("exit code %d: %s", code, errOut)
	}
	got, err := os.ReadFile(target)
	must(t, err)
	if string(got) != want {
		t.Errorf("the target holds %d bytes, not %d", len(got), len(want))
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link is gone: %v", err)
	}
	if info, err := os.Stat(target); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the rights became %v, %v", info.Mode(), err)
	}
}

// A folder, a loop of links or a missing file as input: exit code 2, and the
// error names it.
func TestInputPaths(t *testing.T) {
	dir := t.TempDir()
	loop := filepath.Join(dir, "loop1")
	must(t, os.Symlink("loop2", loop))
	must(t, os.Symlink("loop1", filepath.Join(dir, "loop2")))
	for _, path := range []string{dir, loop, filepath.Join(dir, "missing")} {
		for _, args := range [][]string{
			{"trip", "--stations", "demo", "--route"}, {"trip", "--stations"}, {"trip", "--car"}, {"trip", "--status"},
			{"stations", "check"}, {"stations", "import", "-o", filepath.Join(dir, "out"), "--source", "x"}, {"stations", "near", "--route"},
			{"year", "--households"}, {"year", "--tariffs"}, {"year", "--climate"},
			{"car", "show"}, {"car", "fit"}, {"margins", "--quiet"}, {"serve", "--addr", "127.0.0.1:0", "--stations"},
		} {
			code, out, errOut := ampleway(t, "", append(args, path)...)
			if code != exitUsage || out != "" || !strings.Contains(errOut, path) {
				t.Errorf("%v %s: exit code %d, %q", args, filepath.Base(path), code, errOut)
			}
		}
	}
}

// A pipe is read once, so it can stand for a file; one that nobody writes to
// can be left with Ctrl-C.
func TestPipesAsInput(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe")
	must(t, syscall.Mkfifo(pipe, 0o600))
	written := make(chan error, 1)
	go func() { written <- os.WriteFile(pipe, []byte(someStations), 0) }()
	code, out, errOut := ampleway(t, "", "stations", "check", pipe)
	if code != exitOK || !strings.Contains(out, "rejected") {
		t.Errorf("exit code %d, %q, %q", code, out, errOut)
	}
	must(t, <-written)

	c := program(t, "stations", "check", pipe)
	must(t, c.Start())
	ended := make(chan error, 1)
	go func() { ended <- c.Wait() }()
	for range 100 {
		select {
		case err := <-ended:
			if err == nil {
				t.Error("it ended as if all were well")
			}
			return
		case <-time.After(200 * time.Millisecond):
			c.Process.Signal(os.Interrupt)
		}
	}
	c.Process.Kill()
	t.Error("it does not end")
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// The ending of -o chooses the form, unless --format does.
func TestFormByEnding(t *testing.T) {
	testdata.Sequential(t)
	dir := t.TempDir()
	for name, want := range map[string]string{
		"car.json": "{", "car.SVG": "<?xml", "car.txt": "mid", "year.html": "<!doctype", "near.csv": "chainage_km,", "near.geojson": "{", "trip.gpx": "<?xml",
	} {
		command := map[string][]string{
			"car": {"car", "show", "mid-size-sedan"}, "year": {"year"}, "trip": {"trip"},
			"near": {"stations", "near", "--route", filepath.Join("..", "..", "data", "demo", "corridors", "north.geojson")},
		}[strings.Split(name, ".")[0]]
		path := filepath.Join(dir, name)
		if code, _, errOut := ampleway(t, "", append(command, "-o", path)...); code != 0 {
			t.Errorf("%s: exit code %d, %s", name, code, errOut)
			continue
		}
		text, err := os.ReadFile(path)
		if err != nil || !strings.HasPrefix(strings.ToLower(string(text)), want) {
			t.Errorf("%s begins %.20q, %v", name, text, err)
		}
	}
	if _, out, _ := ampleway(t, "", "car", "show", "van", "--format", "json", "-o", filepath.Join(dir, "other.svg")); out != "" {
		t.Errorf("printed %q", out)
	}
	if text, err := os.ReadFile(filepath.Join(dir, "other.svg")); err != nil || !strings.HasPrefix(string(text), "{") {
		t.Errorf("--format json wrote %.20q, %v", text, err)
	}
}
