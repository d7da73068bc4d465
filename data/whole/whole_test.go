package whole_test

import (
	"os"
	"path/filepath"
	"testing"

	"ampleway/data/whole"
)

// A file is not there, or is as it was, until it is kept; what is discarded
// leaves nothing; permissions of the file that is replaced stay.
func TestWhole(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "a")
	read := func() string { text, _ := os.ReadFile(path); return string(text) }
	if err := whole.Write(path, folder, []byte("one"), 0o600); err != nil || read() != "one" {
		t.Fatal(err, read())
	}
	f, err := whole.Create(path, folder, 0o644)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.WriteString("two"); err != nil || read() != "one" {
		t.Fatal(err, read())
	}
	if err := f.Discard(); err != nil {
		t.Fatal(err)
	}
	if entries, err := os.ReadDir(folder); err != nil || len(entries) != 1 || read() != "one" {
		t.Error(err, entries, read())
	}
	if err := whole.Write(path, folder, []byte("three"), 0o644); err != nil || read() != "three" {
		t.Error(err, read())
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Error(err, info.Mode())
	}
	if err := whole.Write(filepath.Join(folder, "none", "a"), folder, []byte("x"), 0o644); err == nil {
		t.Error("written into a folder that is not there")
	}
	if entries, err := os.ReadDir(folder); err != nil || len(entries) != 1 {
		t.Error(err, entries)
	}
}
