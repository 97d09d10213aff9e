package class

import (
	"bufio"
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"batten/cmd/batten/internal/whole"
)

// State is what a folder of results remembers of earlier runs. It is a journal:
// each script's entry is added before its pages are written, so that a run that
// is killed at any moment loses nothing that was done and takes no page of its
// own for a person's.
type State struct {
	dir  string
	disk *whole.Disk

	mu      sync.Mutex
	file    *os.File
	entries map[string]*entry
	wrote   map[string][]string // file of results → fingerprints of what was written there
	size    int64               // of the journal
	err     error               // why the journal can't be kept any longer
	unlock  func()
}

// entry is what is remembered of one script, and in the one without a key, of
// the files about the class.
type entry struct {
	Key   string            `json:"key"`
	Basis basis             `json:"basis"`
	Files map[string]string `json:"files"`         // name below the folder → fingerprint
	Row   *Row              `json:"row,omitempty"` // in the journal only
	Gone  bool              `json:"gone,omitempty"`
	// Failed is why the script could not be marked: there is no row then.
	Failed string `json:"failed,omitempty"`
	// When is the time of the run, in the entry without a key.
	When time.Time `json:"when,omitzero"`

	marked  bool    // it has a row
	awarded float64 // of the row
	at      int64   // where its line begins in the journal
	size    int
}

// basis is all that a script's marks rest on.
type basis struct {
	Script   string `json:"script"`
	Marker   string `json:"marker,omitempty"`
	Question string `json:"question"`
	Program  string `json:"program"`
	Settings string `json:"settings,omitempty"`
}

// What is new through the tutor's tools alone.
const (
	changedProgram  = "batten itself"
	changedSettings = "what feedback tells"
)

// since words what of the basis is another than before.
func (b basis) since(old basis) string {
	var what []string
	for _, x := range []struct {
		now, then, what string
	}{
		{b.Script, old.Script, "the script"},
		{b.Marker, old.Marker, "the marker's word"},
		{b.Question, old.Question, "the question"},
		{b.Program, old.Program, changedProgram},
		{b.Settings, old.Settings, changedSettings},
	} {
		if x.now != x.then {
			what = append(what, x.what)
		}
	}
	return strings.Join(what, ", ")
}

// OpenState reads what a folder remembers, makes the folder where there is
// none, and keeps other runs out of it.
func OpenState(dir string, disk *whole.Disk) (*State, error) {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return nil, fmt.Errorf("the folder %s can't be made: %w", dir, whole.Plain(err))
	}
	s := &State{dir: dir, disk: disk, entries: map[string]*entry{}, wrote: map[string][]string{}}
	var err error
	if s.unlock, err = lock(filepath.Join(dir, ".batten-lock")); err != nil {
		return nil, fmt.Errorf("%s: %w", dir, err)
	}
	whole.Sweep(dir)
	torn, err := s.load()
	if err != nil {
		s.unlock()
		return nil, err
	}
	s.file, err = os.OpenFile(s.path(), os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o666)
	if err == nil && torn { // the line that a kill cut short
		_, err = s.file.WriteString("\n")
		s.size++
	}
	if err != nil {
		s.unlock()
		return nil, fmt.Errorf("%s can't be written: %w", s.path(), whole.Plain(err))
	}
	return s, nil
}

func (s *State) path() string { return filepath.Join(s.dir, stateName) }

// load reads the journal. A line that is no entry is passed over: it was cut
// short. torn tells that the last line has no end.
func (s *State) load() (torn bool, err error) {
	f, err := os.Open(s.path())
	if errors.Is(err, os.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("%s can't be read: %w", s.path(), whole.Plain(err))
	}
	defer f.Close()
	in := bufio.NewReaderSize(f, 1<<16)
	for {
		line, err := in.ReadBytes('\n')
		if len(line) > 0 {
			torn = line[len(line)-1] != '\n'
			var e entry
			if json.Unmarshal(line, &e) == nil {
				s.take(&e, s.size, len(line))
			}
			s.size += int64(len(line))
		}
		if err == io.EOF {
			return torn, nil
		}
		if err != nil {
			return torn, fmt.Errorf("%s can't be read: %w", s.path(), whole.Plain(err))
		}
	}
}

// take remembers an entry whose line stands at a place in the journal.
func (s *State) take(e *entry, at int64, size int) {
	if e.Row != nil {
		e.marked, e.awarded, e.Row = true, e.Row.Awarded, nil
	}
	e.at, e.size = at, size
	s.entries[e.Key] = e
	for name, sum := range e.Files {
		s.own(name, sum)
	}
}

// own remembers what was written to a file of results, the last few times.
func (s *State) own(name, sum string) {
	const most = 6
	sums := s.wrote[name]
	if slices.Contains(sums, sum) {
		return
	}
	if sums = append(sums, sum); len(sums) > most {
		sums = sums[1:]
	}
	s.wrote[name] = sums
}

// before returns what is remembered of a script, nil for nothing.
func (s *State) before(key string) *entry {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.entries[key]
}

// complete tells whether all pages of an entry still stand.
func (s *State) complete(e *entry) bool {
	for name := range e.Files {
		if _, err := os.Lstat(filepath.Join(s.dir, name)); err != nil {
			return false
		}
	}
	return true
}

// put remembers an entry and writes its files, none over anything that a
// person wrote: then the new one lies beside it, and a message says so.
func (s *State) put(e *entry, files map[string][]byte, last bool) (say []string, err error) {
	e.Files = map[string]string{}
	targets := map[string]string{}
	for _, name := range sortedNames(files) {
		sum := sumOf(files[name])
		at, theirs := s.place(name, sum)
		if theirs {
			say = append(say, fmt.Sprintf("%s was not written by batten, or was changed since: it is left, and the new one is %s",
				filepath.Join(s.dir, name), filepath.Base(at)))
		}
		targets[name] = at
		e.Files[at] = sum
	}
	if jerr := s.journal(e); jerr != nil {
		err = jerr
	}
	for _, name := range sortedNames(files) {
		full := filepath.Join(s.dir, targets[name])
		if old, rerr := os.ReadFile(full); rerr == nil && bytes.Equal(old, files[name]) {
			continue
		}
		if werr := s.disk.Write(full, files[name], last); werr != nil {
			return say, werr
		}
	}
	return say, err
}

func sortedNames(files map[string][]byte) []string {
	var names []string
	for n := range files {
		names = append(names, n)
	}
	slices.Sort(names)
	return names
}

// place finds the name under which a file may be written: its own, or where
// something of a person's lies there, one beside it.
func (s *State) place(name, sum string) (at string, theirs bool) {
	ext := filepath.Ext(name)
	at = name
	for n := 1; n < 100; n++ {
		full := filepath.Join(s.dir, at)
		info, err := os.Lstat(full)
		if err != nil {
			return at, n > 1
		}
		if info.Mode().IsRegular() && info.Size() < 1<<28 {
			if old, err := os.ReadFile(full); err == nil {
				was := sumOf(old)
				if was == sum || s.wroteIt(at, was) {
					return at, n > 1
				}
			}
		}
		at = fmt.Sprintf("%s.new%s", strings.TrimSuffix(name, ext), ext)
		if n > 1 {
			at = fmt.Sprintf("%s.new%d%s", strings.TrimSuffix(name, ext), n, ext)
		}
	}
	return at, true
}

func (s *State) wroteIt(name, sum string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Contains(s.wrote[name], sum)
}

func (s *State) journal(e *entry) error {
	line, err := json.Marshal(e)
	if err != nil {
		return err
	}
	line = append(line, '\n')
	s.mu.Lock()
	defer s.mu.Unlock()
	s.take(e, s.size, len(line))
	if s.err == nil {
		if s.disk != nil && s.disk.Before != nil {
			s.err = s.disk.Before(s.path(), len(line))
		}
		if s.err == nil {
			_, s.err = s.file.Write(line)
			s.size += int64(len(line))
		}
		if s.err != nil {
			s.err = fmt.Errorf("%s could not be written, so the next run begins anew where this one has no entry: %w", s.path(), whole.Plain(s.err))
			return s.err
		}
	}
	return nil
}

// PutClass writes the files about the class as a whole.
func (s *State) PutClass(files map[string][]byte, when time.Time) (say []string, err error) {
	return s.put(&entry{When: when}, files, true)
}

// LastRun is when the last run ended, the zero time where that is not known.
func (s *State) LastRun() time.Time {
	if e := s.before(""); e != nil {
		return e.When
	}
	return time.Time{}
}

// Gone returns the names of the scripts that the last run knew and that are
// not among these, and remembers that they were told as gone.
func (s *State) Gone(items []Item) []Departed {
	now := map[string]bool{}
	for i := range items {
		now[items[i].Key] = true
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	var left []Departed
	for key, e := range s.entries {
		switch {
		case key == "":
		case now[key]:
			e.Gone = false
		case !e.Gone:
			e.Gone = true
			left = append(left, Departed{key, len(e.Files) > 0})
		}
	}
	slices.SortFunc(left, func(a, b Departed) int { return cmp.Compare(a.Script, b.Script) })
	return left
}

// line reads the line of an entry from the journal.
func (s *State) line(e *entry) ([]byte, error) {
	line := make([]byte, e.size)
	_, err := s.file.ReadAt(line, e.at)
	return line, err
}

// row reads the row of an entry, nil where it can't be.
func (s *State) row(e *entry) *Row {
	line, err := s.line(e)
	if err != nil {
		return nil
	}
	var full entry
	if json.Unmarshal(line, &full) != nil || full.Key != e.Key {
		return nil
	}
	return full.Row
}

// Close writes the journal anew, an entry for each script, and lets other runs
// in.
func (s *State) Close() error {
	defer s.unlock()
	s.mu.Lock()
	defer s.mu.Unlock()
	defer s.file.Close()
	if s.err != nil {
		return nil // told already
	}
	var all []*entry
	for _, e := range s.entries {
		all = append(all, e)
	}
	slices.SortFunc(all, func(a, b *entry) int { return cmp.Compare(a.Key, b.Key) })
	return s.disk.Stream(s.path(), func(w io.Writer) error {
		for _, e := range all {
			line, err := s.line(e)
			if err != nil {
				return err
			}
			var full entry
			if err := json.Unmarshal(line, &full); err != nil {
				return err
			}
			if full.Gone != e.Gone {
				full.Gone = e.Gone
				if line, err = json.Marshal(&full); err != nil {
					return err
				}
				line = append(line, '\n')
			}
			if _, err := w.Write(line); err != nil {
				return err
			}
		}
		return nil
	})
}

// sumReader is sumOf for what is read.
func sumReader(in io.Reader) string {
	h := sha256.New()
	if _, err := io.Copy(h, in); err != nil {
		return ""
	}
	return hex.EncodeToString(h.Sum(nil)[:12])
}
