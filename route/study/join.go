package study

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"

	"ampleway/data/fault"
	"ampleway/data/wording"
	"ampleway/route/input"

	"github.com/parquet-go/parquet-go"
)

// JoinOptions say where the whole goes. CSV asks for cases.csv as well.
type JoinOptions struct {
	Folder string
	CSV    bool
}

// Join puts the results of all parts of a study together, as one run would have
// written them. It refuses parts that are missing, there twice, unfinished or
// of another study, and files that are not what their manifest says.
func Join(folders []string, o JoinOptions) (summary *Summary, err error) {
	parts, err := readParts(folders)
	if err != nil {
		return nil, err
	}
	lock, err := lockFolder(o.Folder)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, lock.release()) }()
	temp, err := os.MkdirTemp(o.Folder, workshopPrefix+"join-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(temp)
	st := store{o.Folder, temp}
	t, err := newTables(st, o.CSV)
	if err != nil {
		return nil, err
	}
	defer t.drop()
	a := &assembly{store: st, tables: t, manifest: *parts[0].manifest, summary: newSummary(parts[0].manifest.Name, parts[0].manifest.Note)}
	m := &a.manifest
	m.Part, m.Parts, m.Outputs = 0, 1, []FileHash{}
	m.Corridors, m.Faults = []CorridorSummary{}, []Fault{}
	if err := a.joinAll(parts); err != nil {
		return nil, err
	}
	return a.close(&Options{Folder: o.Folder, CSV: o.CSV})
}

// joinAll adds the corridors of all parts in order of their numbers.
func (a *assembly) joinAll(parts []part) error {
	type piece struct {
		CorridorSummary
		rows *rowReader
	}
	var pieces []piece
	views := map[int]CorridorView{}
	for _, p := range parts {
		rows, err := openRows(p.folder)
		if err != nil {
			return err
		}
		defer rows.close()
		for _, c := range p.manifest.Corridors {
			pieces = append(pieces, piece{c, rows})
		}
		summary, err := readSummary(p.folder, p.manifest)
		if err != nil {
			return err
		}
		a.summary.credit(summary.Credits)
		for _, v := range summary.Corridors {
			views[v.Number] = v
		}
		a.manifest.Faults = append(a.manifest.Faults, p.manifest.Faults...)
	}
	slices.SortStableFunc(a.manifest.Faults, func(x, y Fault) int { return cmp.Compare(x.Corridor, y.Corridor) })
	slices.SortStableFunc(pieces, func(x, y piece) int { return cmp.Compare(x.Number, y.Number) })
	for _, c := range pieces {
		if err := c.rows.next(c.Cases, a.tables.add); err != nil {
			return err
		}
		a.manifest.Corridors = append(a.manifest.Corridors, c.CorridorSummary)
		if v, ok := views[c.Number]; ok {
			a.summary.Corridors = append(a.summary.Corridors, v)
		}
	}
	return nil
}

// part is a folder of results with its manifest.
type part struct {
	folder   string
	manifest *Manifest
}

func readParts(folders []string) ([]part, error) {
	var parts []part
	for _, folder := range folders {
		m, err := ReadManifest(folder)
		if err != nil {
			return nil, err
		}
		if !m.Complete {
			return nil, &fault.Input{File: folder, Found: wording.Count(m.JobsLeft, "job") + " still to be done", Expected: "a finished part (--resume finishes it)"}
		}
		for _, f := range m.Outputs {
			if hash, _, err := input.Folder(folder).Hash(input.Results, f.Name); err != nil || hash != f.SHA256 {
				return nil, &fault.Input{File: filepath.Join(folder, f.Name), Found: "other contents", Expected: "the file that its manifest names", Err: err}
			}
		}
		parts = append(parts, part{folder, m})
	}
	return inOrder(parts)
}

// inOrder sorts the parts by number and refuses what does not make a whole.
func inOrder(parts []part) ([]part, error) {
	if len(parts) == 0 {
		return nil, &fault.Input{Field: "parts", Found: "none", Expected: "the folders of all parts"}
	}
	first := parts[0]
	out := make([]part, first.manifest.Parts)
	for _, p := range parts {
		m := p.manifest
		if m.Study != first.manifest.Study || m.Parts != len(out) || m.Part < 0 || m.Part >= len(out) {
			return nil, &fault.Input{
				File: p.folder, Found: fmt.Sprintf("part %d of %d of study %.12s", m.Part, m.Parts, m.Study),
				Expected: fmt.Sprintf("one of %d parts of study %.12s, as in %s", len(out), first.manifest.Study, first.folder),
			}
		}
		if out[m.Part].manifest != nil {
			return nil, &fault.Input{File: p.folder, Found: fmt.Sprintf("part %d, which is in %s too", m.Part, out[m.Part].folder), Expected: "each part once"}
		}
		out[m.Part] = p
	}
	for i, p := range out {
		if p.manifest == nil {
			return nil, &fault.Input{Field: "parts", Found: fmt.Sprintf("no part %d of %d", i, len(out)), Expected: "all of them"}
		}
	}
	return out, nil
}

// rowReader reads a folder's cases one after the other.
type rowReader struct {
	path string
	file *os.File
	rows *parquet.GenericReader[Row]
}

func openRows(folder string) (*rowReader, error) {
	path := filepath.Join(folder, CasesFile)
	file, err := os.Open(path)
	if err != nil {
		return nil, &fault.Input{File: path, Expected: "cases that can be read", Err: err}
	}
	return &rowReader{path, file, parquet.NewGenericReader[Row](file)}, nil
}

func (r *rowReader) close() {
	r.rows.Close()
	r.file.Close()
}

// next hands the next n rows to take, some at a time.
func (r *rowReader) next(n int64, take func([]Row) error) error {
	for n > 0 {
		rows := make([]Row, min(n, 2000))
		got, err := r.rows.Read(rows)
		if got == 0 && err != nil {
			return fmt.Errorf("%s ends before its manifest says: %w", r.path, err)
		}
		if err != nil && !errors.Is(err, io.EOF) {
			return fmt.Errorf("%s: %w", r.path, err)
		}
		if err := take(rows[:got]); err != nil {
			return err
		}
		n -= int64(got)
	}
	return nil
}
