package notices

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// platforms are those of .ci/release: a module may be in one of them only.
var platforms = []string{"linux/amd64", "linux/arm64", "darwin/arm64", "windows/amd64"}

// The listing is what the packages that are linked, and the licence files
// beside them, give; AMPLEWAY_UPDATE=1 writes it.
func TestNoticesAreThoseOfTheProgram(t *testing.T) {
	want := listing(t)
	if os.Getenv("AMPLEWAY_UPDATE") != "" {
		if err := os.WriteFile("notices.txt", []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if text != want {
		t.Errorf("notices.txt has %d bytes, the modules give %d: AMPLEWAY_UPDATE=1 writes it again", len(text), len(want))
	}
}

// work is something in the program with an author of its own.
type work struct {
	name, dir string
	folders   []string // of its packages that are linked
}

// linked lists the works in the program, this one first.
func linked(t *testing.T) []*work {
	t.Helper()
	standard := &work{name: "Go standard library"}
	modules := map[string]*work{}
	for _, platform := range platforms {
		system, processor, _ := strings.Cut(platform, "/")
		list := exec.Command("go", "list", "-deps", "-json=Dir,Standard,Root,Module", "ampleway/cmd/ampleway")
		list.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS="+system, "GOARCH="+processor)
		list.Stderr = os.Stderr
		out, err := list.Output()
		if err != nil {
			t.Fatal(err)
		}
		for d := json.NewDecoder(bytes.NewReader(out)); ; {
			var p struct {
				Dir, Root string
				Standard  bool
				Module    *struct{ Path, Version, Dir string }
			}
			if err := d.Decode(&p); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatal(err)
			}
			if p.Standard {
				standard.dir, standard.folders = p.Root, []string{p.Root}
				continue
			}
			m := modules[p.Module.Path]
			if m == nil {
				m = &work{name: strings.TrimSpace(p.Module.Path + " " + p.Module.Version), dir: p.Module.Dir}
				modules[p.Module.Path] = m
			}
			m.folders = append(m.folders, p.Dir)
		}
	}
	works := []*work{modules["ampleway"], standard}
	delete(modules, "ampleway")
	for _, m := range modules {
		works = append(works, m)
	}
	slices.SortFunc(works[2:], func(a, b *work) int { return cmp.Compare(a.name, b.name) })
	return works
}

var legal = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents)(\.\w+)?$|third.party`)

// files are the legal files of a work: beside a linked package or above it.
func (w *work) files(t *testing.T) (out []string) {
	t.Helper()
	for _, folder := range w.folders {
		for ; ; folder = filepath.Dir(folder) {
			entries, err := os.ReadDir(folder)
			if err != nil {
				t.Fatal(err)
			}
			for _, e := range entries {
				if path := filepath.Join(folder, e.Name()); legal.MatchString(e.Name()) {
					err = filepath.WalkDir(path, func(path string, d fs.DirEntry, err error) error {
						if err == nil && !d.IsDir() && !slices.Contains(out, path) {
							out = append(out, path)
						}
						return err
					})
				}
				if err != nil {
					t.Fatal(err)
				}
			}
			if folder == w.dir {
				break
			}
		}
	}
	slices.Sort(out)
	return out
}

const bsd, thirdClause = "Redistribution and use in source and binary forms", "may be used to endorse"

// names are phrases that tell the licences apart, and their names in the SPDX
// licence list, version 3 (https://spdx.org/licenses/).
var names = []struct {
	spdx   string
	has    []string
	hasNot string
}{
	{"Apache-2.0", []string{"Apache License Version 2.0"}, "\x00"},
	{"BSD-2-Clause", []string{bsd}, thirdClause},
	{"BSD-3-Clause", []string{bsd, thirdClause}, "\x00"},
	{"MIT", []string{"Permission is hereby granted, free of charge, to any person obtaining a copy of this software and associated"}, "\x00"},
}

func spdx(text string) (out []string) {
	text = fold(text)
	for _, n := range names {
		lacks := func(phrase string) bool { return !strings.Contains(text, phrase) }
		if !slices.ContainsFunc(n.has, lacks) && lacks(n.hasNot) {
			out = append(out, n.spdx)
		}
	}
	return out
}

var copyright = regexp.MustCompile(`(?im)^\W*(copyright\b.*(\d{4}|\(c\)|©).*?)[\s*]*$`)

func fold(text string) string { return strings.Join(strings.Fields(text), " ") }

func listing(t *testing.T) string {
	t.Helper()
	var head, body strings.Builder
	numbers := map[string]int{}
	fmt.Fprint(&head, "What is in this program, under which licences. The texts follow, each of them once.\n")
	for _, w := range linked(t) {
		var licences, lines, texts []string
		for _, path := range w.files(t) {
			raw, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			text := strings.ReplaceAll(string(raw), "\r\n", "\n")
			key := fold(text)
			if numbers[key] == 0 {
				numbers[key] = len(numbers) + 1
				fmt.Fprintf(&body, "\n%s\nText %d\n\n%s\n", strings.Repeat("=", 78), numbers[key], strings.Trim(text, "\n"))
			}
			if n := fmt.Sprint(numbers[key]); !slices.Contains(texts, n) {
				texts = append(texts, n)
			}
			if strings.Contains(strings.ToLower(path[len(w.dir):]), "third") {
				continue
			}
			licences = append(licences, spdx(text)...)
			for _, m := range copyright.FindAllStringSubmatch(text, -1) {
				lines = append(lines, "  "+m[1])
			}
		}
		if len(licences) == 0 {
			t.Errorf("%s: no licence known here in %s", w.name, w.dir)
		}
		slices.Sort(licences)
		slices.Sort(lines)
		fmt.Fprintf(&head, "\n%s\n  %s (text %s)\n", w.name, strings.Join(slices.Compact(licences), " AND "), strings.Join(texts, ", "))
		for _, line := range slices.Compact(lines) {
			fmt.Fprintln(&head, line)
		}
	}
	return head.String() + body.String()
}
