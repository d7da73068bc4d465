package study

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"

	"ampleway/route/input"
)

// assembly puts results together in the order of their corridors.
type assembly struct {
	in       *inputs
	current  *corridorState
	store    store
	tables   *tables
	manifest Manifest
	summary  *Summary
}

func (in *inputs) assembly(shop workshop, o *Options) (*assembly, error) {
	st := store{o.Folder, shop.folder}
	t, err := newTables(st, o.CSV)
	if err != nil {
		return nil, err
	}
	a := &assembly{in: in, store: st, tables: t, summary: newSummary(in.study.Name, in.study.Note)}
	a.manifest = Manifest{
		Format: ManifestFormat, Version: o.Version, Processor: runtime.GOARCH, Study: in.id,
		Seed: in.study.Seed, Name: in.study.Name, Note: in.study.Note,
		Part: o.Part.Index, Parts: max(o.Part.Of, 1), Complete: true, Inputs: in.files,
		Corridors: []CorridorSummary{}, Faults: append([]Fault{}, in.faults...), Outputs: []FileHash{},
	}
	return a, nil
}

// assemble writes the results of all finished jobs.
func (in *inputs) assemble(shop workshop, jobs []job, o *Options) (*Summary, error) {
	a, err := in.assembly(shop, o)
	if err != nil {
		return nil, err
	}
	defer a.tables.drop()
	for _, j := range jobs {
		r, err := shop.load(j.number)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", shop.path(j.number), err)
		}
		if r == nil {
			a.manifest.Complete = false
			a.manifest.JobsLeft++
			continue
		}
		a.corridor(j.corridor)
		if err := a.result(r); err != nil {
			return nil, err
		}
	}
	return a.finish(o)
}

// corridor begins a corridor unless it is the one at hand.
func (a *assembly) corridor(number int) {
	if a.current != nil && a.current.number == number {
		return
	}
	a.endCorridor()
	a.current = newCorridorState(number, a.in.sources[number].name)
}

func (a *assembly) endCorridor() {
	if a.current == nil {
		return
	}
	c := a.current
	a.manifest.Corridors = append(a.manifest.Corridors, CorridorSummary{
		Number: c.number, Name: c.name, SHA256: a.in.sources[c.number].hash, LengthKM: c.strip.LengthM / 1000, Cases: c.cases, Feasible: c.feasible,
	})
	a.summary.credit(c.strip.Credits)
	if c.cases > 0 {
		a.summary.Corridors = append(a.summary.Corridors, c.view())
	}
	a.current = nil
}

func (a *assembly) result(r *result) error {
	c := a.current
	for i := range r.Rows {
		r.Rows[i].Case = c.cases + int64(i)
	}
	c.take(r.Rows)
	if r.Strip != nil {
		c.strip = *r.Strip
	}
	c.gain(r.Gains)
	a.manifest.Faults = append(a.manifest.Faults, r.Faults...)
	return a.tables.add(r.Rows)
}

func (a *assembly) finish(o *Options) (*Summary, error) {
	a.endCorridor()
	return a.close(o)
}

// close ends the tables and writes all that is about the whole. What an earlier
// run said about its own cases goes first, and nothing stays that says something
// about cases that could not be written.
func (a *assembly) close(o *Options) (*Summary, error) {
	if err := a.retract(o.Folder); err != nil {
		return nil, err
	}
	if err := a.tables.finish(); err != nil {
		return nil, err
	}
	a.manifest.Faults = merged(a.manifest.Faults)
	a.manifest.Cases, a.manifest.Feasible = 0, 0
	for _, c := range a.manifest.Corridors {
		a.manifest.Cases += c.Cases
		a.manifest.Feasible += c.Feasible
	}
	a.summary.finish(&a.manifest)
	if o.Folder == "" {
		return a.summary, nil
	}
	if !o.CSV {
		if err := os.Remove(filepath.Join(o.Folder, CSVFile)); err != nil && !os.IsNotExist(err) {
			return nil, err
		}
	}
	if err := a.write(o); err != nil {
		return nil, errors.Join(err, a.retract(o.Folder))
	}
	return a.summary, nil
}

// retract removes the files that claim results.
func (a *assembly) retract(folder string) error {
	if folder == "" {
		return nil
	}
	for _, name := range []string{ManifestFile, SummaryFile, TextFile, BuildFile, PageFile} {
		if err := os.Remove(filepath.Join(folder, name)); err != nil && !os.IsNotExist(err) {
			return err
		}
	}
	return nil
}

// write writes the summary's files and, last, the manifest.
func (a *assembly) write(o *Options) error {
	var text bytes.Buffer
	if err := a.summary.WriteText(&text); err != nil {
		return err
	}
	for _, f := range []struct {
		name string
		text []byte
	}{
		{SummaryFile, indented(a.summary)},
		{TextFile, text.Bytes()},
		{BuildFile, indented(a.summary.GeoJSON())},
	} {
		if err := a.store.write(f.name, f.text); err != nil {
			return err
		}
	}
	names := []string{CasesFile, SummaryFile, TextFile, BuildFile}
	if o.CSV {
		names = append(names, CSVFile)
	}
	for _, name := range names {
		hash, _, err := input.Folder(o.Folder).Hash(input.Results, name)
		if err != nil {
			return err
		}
		a.manifest.Outputs = append(a.manifest.Outputs, FileHash{name, hash})
	}
	return a.store.write(ManifestFile, indented(&a.manifest))
}

func indented(v any) []byte {
	text, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		panic("study: " + err.Error())
	}
	return append(text, '\n')
}

// merged counts equal faults together: those of one corridor come from each of
// its jobs.
func merged(faults []Fault) []Fault {
	out := []Fault{}
	at := map[Fault]int{}
	for _, f := range faults {
		key := Fault{Corridor: f.Corridor, What: f.What, Reason: f.Reason}
		if i, ok := at[key]; ok {
			out[i].Count = max(out[i].Count, f.Count)
			continue
		}
		at[key] = len(out)
		out = append(out, f)
	}
	return out
}
