package data_test

import (
	"errors"
	"io/fs"
	"os"
	"slices"
	"strings"
	"testing"

	"ampleway/data"
)

func TestEveryFileSaysThatItIsInvented(t *testing.T) {
	n := 0
	err := fs.WalkDir(os.DirFS("demo"), ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || strings.HasSuffix(path, ".go") {
			return err
		}
		n++
		content, err := os.ReadFile("demo/" + path)
		if !strings.Contains(string(content), "Invented") {
			t.Errorf("demo/%s does not say that it is invented", path)
		}
		return err
	})
	if err != nil || n < 10 {
		t.Errorf("%d files looked at, error %v", n, err)
	}
}

func TestCorridorsByName(t *testing.T) {
	if got, want := data.Corridors(), []string{"north", "pass", "upland"}; !slices.Equal(got, want) {
		t.Errorf("corridors %v, want %v", got, want)
	}
	for _, name := range data.Corridors() {
		if content, err := data.Corridor(name); err != nil || len(content) == 0 {
			t.Errorf("%s: %d bytes, error %v", name, len(content), err)
		}
	}
	for _, name := range []string{"", "nowhere", "../stations", "pass.geojson"} {
		if _, err := data.Corridor(name); !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), "north, pass, upland") {
			t.Errorf("corridor %q: error %v, want one that names the corridors", name, err)
		}
	}
}

func TestFilesAreSmall(t *testing.T) {
	for _, name := range data.Corridors() {
		if content, _ := data.Corridor(name); len(content) > 300_000 {
			t.Errorf("corridor %s has %d bytes", name, len(content))
		}
	}
	if n := len(data.Stations()); n > 300_000 {
		t.Errorf("the stations have %d bytes", n)
	}
}
