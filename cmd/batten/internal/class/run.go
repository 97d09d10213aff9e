package class

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"time"

	"batten/cmd/batten/internal/inputs"
	"batten/cmd/batten/internal/overrule"
	"batten/cmd/batten/internal/show"
	"batten/diagnose"
	"batten/solver"
)

// Reading is a script's full reading with the marker's word on it. Its JSON
// form is a report's, with one field more where a marker spoke.
type Reading struct {
	*diagnose.Report
	Marker *overrule.Outcome `json:"marker,omitempty"`
}

// JSON is the reading as one line.
func (r *Reading) JSON() ([]byte, error) {
	show.Settle(r.Report)
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false) // students write < and &
	err := enc.Encode(r)
	return b.Bytes(), err
}

// Result is what came of one script.
type Result struct {
	Row      *Row
	Question *solver.Question // nil where it is not known
	// Reading is nil where the script could not be marked, or was taken over
	// from an earlier run.
	Reading *Reading
	// JSON is the reading of a script taken over, where it was asked for.
	JSON    []byte
	Changed string   // what its marks rest on that is new since the last run; "" for nothing
	Known   bool     // the last run had it
	Was     *float64 // its marks in the last run, nil for none
	Problem string   // why its pages could not be written
}

// Marking is one run over a class.
type Marking struct {
	Questions *inputs.Questions
	Stdin     io.Reader
	Program   string // which program this is
	Again     bool   // mark what is unchanged too
	NeedJSON  bool   // readings of scripts taken over are wanted
	State     *State // nil where nothing is kept
	Settings  string // what else the pages rest on
	// Pages makes a script's files, by name below the folder of results.
	Pages   func(key string, r *Reading, q *solver.Question) (map[string][]byte, error)
	Workers int
	Limit   time.Duration // on the reading of one script; 0 for the usual one

	watch   *watch
	read    func(m *diagnose.Marker, name string, text []byte) (*diagnose.Report, error)
	mu      sync.Mutex
	markers map[*solver.Question]*lazyMarker
}

type lazyMarker struct {
	once   sync.Once
	marker *diagnose.Marker
	sum    string
	err    error
}

// Run marks the items and delivers their results in order, on the caller's
// goroutine. It returns how many were delivered: fewer than there are where ctx
// ended.
func (m *Marking) Run(ctx context.Context, items []Item, deliver func(*Result)) int {
	workers := m.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	m.markers = map[*solver.Question]*lazyMarker{}
	if m.read == nil {
		m.read = (*diagnose.Marker).Mark
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	if m.watch = (&watch{limit: m.Limit, stop: stop}); m.watch.limit <= 0 {
		m.watch.limit = Limit
	}
	work := func(it Item) *Result {
		res := m.one(ctx, it)
		if m.State != nil && res.Row.Failed != "" && !res.Row.Stopped {
			m.keepFailure(it, res)
		}
		return res
	}
	return ordered(ctx, items, workers, work, func(_ int, r *Result) { deliver(r) })
}

// Overrun tells whether the last run was stopped because too many scripts came
// to no end.
func (m *Marking) Overrun() bool {
	m.watch.mu.Lock()
	defer m.watch.mu.Unlock()
	return m.watch.full
}

// one marks one script. Whatever happens, it has its row.
func (m *Marking) one(ctx context.Context, it Item) (res *Result) {
	defer func() {
		if p := recover(); p != nil {
			res = failed(it, wentWrong(p))
		}
	}()
	if it.err != nil {
		return failed(it, it.err)
	}
	doc, err := within(ctx, m.watch, it.Path != inputs.Stdin, func() (*inputs.Document, error) {
		return inputs.ReadDocument(it.Path, m.Stdin)
	})
	if err != nil {
		return failed(it, err)
	}
	q, warning, err := m.Questions.For(inputs.Header(doc.Text))
	if err != nil {
		return failed(it, err)
	}
	if it.wordErr != nil {
		return failed(it, fmt.Errorf("the marker's word can't be taken: %w", it.wordErr))
	}
	lm := m.marker(q)
	if lm.err != nil {
		return failed(it, lm.err)
	}
	if it.word != nil {
		if err := it.word.Check(q); err != nil {
			return failed(it, fmt.Errorf("the marker's word can't be taken: %w", err))
		}
	}
	on := basis{Script: doc.Sum, Marker: it.wordSum, Question: lm.sum, Program: m.Program, Settings: m.Settings}
	res = &Result{Question: q, Changed: changedNew}
	if m.State != nil {
		switch old := m.State.before(it.Key); {
		case old == nil:
		case old.marked:
			res.Changed, res.Known, res.Was = on.since(old.Basis), true, &old.awarded
			if res.Changed == "" && !m.Again && m.takeOver(it, old, res) {
				return res
			}
		case old.Failed != "":
			res.Changed, res.Known = "could not be marked before", true
		}
	}
	r, err := within(ctx, m.watch, true, func() (*diagnose.Report, error) { return m.read(lm.marker, it.Path, doc.Text) })
	if err != nil {
		return failed(it, err)
	}
	outcome := overrule.Apply(q, r, it.word)
	res.Reading = &Reading{r, outcome}
	res.Row = newRow(r, outcome)
	res.Row.Key, res.Row.Sum = it.Key, doc.Sum
	res.Row.Eye = wantsEye(res.Row, q.Topic)
	if doc.Pictures > 0 {
		res.Row.Eye = append(res.Row.Eye, fmt.Sprintf("it holds %s, which can't be read", count(doc.Pictures, "picture")))
	}
	if warning != "" {
		res.Row.Say = append(res.Row.Say, warning)
		res.Row.Eye = append(res.Row.Eye, warning)
	}
	if m.State != nil {
		m.keep(it, on, res)
	}
	return res
}

// takeOver gives the result of an earlier run, where all of it still stands.
func (m *Marking) takeOver(it Item, old *entry, res *Result) bool {
	if !m.State.complete(old) {
		return false
	}
	if m.NeedJSON {
		data, err := os.ReadFile(filepath.Join(m.State.dir, readingName(it.Key)))
		if err != nil || sumOf(data) != old.Files[readingName(it.Key)] {
			return false
		}
		res.JSON = data
	}
	row := m.State.row(old)
	if row == nil {
		return false
	}
	row.Script, row.Key, row.Before = it.Path, it.Key, true
	res.Row = row
	return true
}

func (m *Marking) keep(it Item, on basis, res *Result) {
	files, err := m.Pages(it.Key, res.Reading, res.Question)
	if err == nil {
		files[readingName(it.Key)], err = res.Reading.JSON()
	}
	var say []string
	if err == nil {
		row := *res.Row
		row.Say = nil
		say, err = m.State.put(&entry{Key: it.Key, Basis: on, Row: &row}, files, false)
	}
	res.Row.Say = append(res.Row.Say, say...)
	if err != nil {
		res.Problem = err.Error()
	}
}

// changedNew is what is new of a script that the last run did not have.
const changedNew = "new"

// keepFailure remembers that a script could not be marked, and tells whether
// that is new. Its pages of an earlier run are left.
func (m *Marking) keepFailure(it Item, res *Result) {
	e := &entry{Key: it.Key, Failed: res.Row.Failed}
	res.Changed = changedNew
	if old := m.State.before(it.Key); old != nil && (old.marked || old.Failed != "") {
		e.Files, res.Known = old.Files, true
		switch {
		case old.marked:
			res.Changed, res.Was = "can't be marked any more", &old.awarded
		default:
			res.Changed = ""
		}
		if old.Failed == e.Failed {
			return
		}
	}
	if err := m.State.journal(e); err != nil {
		res.Row.Say = append(res.Row.Say, err.Error())
	}
}

// readingName is where the full reading of a script is kept.
func readingName(key string) string { return "readings/" + key + ".json" }

func failed(it Item, err error) *Result {
	return &Result{Row: &Row{Script: it.Path, Key: it.Key, Failed: err.Error(), Stopped: errors.Is(err, errStopped)}}
}

// Stopped is the result of a script that was not reached.
func Stopped(it Item) *Result {
	return &Result{Row: &Row{Script: it.Path, Key: it.Key, Stopped: true, Failed: "the run was stopped before it was reached"}}
}

func (m *Marking) marker(q *solver.Question) *lazyMarker {
	m.mu.Lock()
	l := m.markers[q]
	if l == nil {
		l = &lazyMarker{}
		m.markers[q] = l
	}
	m.mu.Unlock()
	l.once.Do(func() {
		l.marker, l.err = diagnose.New(q)
		l.sum = questionSum(q)
	})
	return l
}

// questionSum is a fingerprint of all that a question says. Its topic belongs to
// the program.
func questionSum(q *solver.Question) string {
	type part struct {
		Letter, Find string
		Marks        float64
	}
	var parts []part
	for _, p := range q.Parts {
		parts = append(parts, part{p.Letter, p.Find.Words, p.Marks})
	}
	data, err := json.Marshal([]any{q.ID, q.Title, q.Topic.ID, q.Written, q.Given, parts, q.Marking})
	if err != nil {
		return "" // a figure that JSON can't hold: never taken over
	}
	return sumOf(data)
}

// ProgramSum is a fingerprint of the program that runs, for what its version
// does not tell.
func ProgramSum() string {
	path, err := os.Executable()
	if err != nil {
		return ""
	}
	f, err := os.Open(path)
	if err != nil {
		return ""
	}
	defer f.Close()
	return sumReader(f)
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
