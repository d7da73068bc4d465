package testdata

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

// Golden compares got with the file of that name in testdata/golden. With
// AMPLEWAY_UPDATE=1 it writes the file instead; say why in the commit.
func Golden(t testing.TB, name string, got []byte) {
	t.Helper()
	path := Path("golden", name)
	if os.Getenv("AMPLEWAY_UPDATE") != "" {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (AMPLEWAY_UPDATE=1 writes it)", err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s has changed at byte %d; AMPLEWAY_UPDATE=1 accepts it", path, firstDifference(got, want))
	}
}

func firstDifference(a, b []byte) int {
	n := min(len(a), len(b))
	for i := range n {
		if a[i] != b[i] {
			return i
		}
	}
	return n
}
