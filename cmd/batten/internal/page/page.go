// Package page serves the tool as web pages: a question, the answer that a
// student pastes, and what there is to say about it beside the student's own
// lines.
//
// The server keeps nothing. What it needs to know of an earlier sending comes
// with the form, and no part of a request names a file. The pages work without
// script; the one script there is adds comfort.
package page

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"slices"
	"strings"
	"sync"
	"time"

	"batten/diagnose"
	"batten/rules"
	"batten/solver"
)

//go:embed templates/*.html
var templateFiles embed.FS

//go:embed static
var staticFiles embed.FS

// Limits of a request. A long answer has some four thousand characters on a
// hundred lines; the limits leave room, and keep a stranger from taking the
// memory and the time that others want.
const (
	maxAnswer = 24 << 10  // bytes of one answer
	maxLines  = 400       // lines of one answer
	maxBody   = 256 << 10 // bytes of a request: two answers, as forms write them
)

// Reader reads a script against a question.
type Reader func(q *solver.Question, name string, script []byte) (*diagnose.Report, error)

// Site serves a set of questions. It is safe for concurrent use.
type Site struct {
	questions []*solver.Question
	desks     map[string]*desk
	read      Reader        // nil: by the question's own marker
	seats     chan struct{} // held while a script is read
	patience  time.Duration // how long a request waits for its reading
	now       func() time.Time
	pages     map[string]*template.Template
}

// desk holds what is made once for a question, when it is first asked for.
type desk struct {
	question *solver.Question
	once     sync.Once
	marker   *diagnose.Marker
	err      error
}

func (d *desk) ready() error {
	d.once.Do(func() { d.marker, d.err = diagnose.New(d.question) })
	return d.err
}

func (d *desk) model() *solver.Model { return d.marker.Model() }

// New makes a site for the questions, of which seats are read against at a time.
func New(questions []*solver.Question, seats int) (*Site, error) {
	if len(questions) == 0 {
		return nil, errors.New("there is no question to serve")
	}
	s := &Site{
		questions: slices.Clone(questions),
		desks:     map[string]*desk{},
		seats:     make(chan struct{}, max(1, seats)),
		patience:  10 * time.Second,
		now:       time.Now,
	}
	for _, q := range questions {
		s.desks[q.ID] = &desk{question: q}
	}
	var err error
	s.pages, err = readTemplates()
	return s, err
}

// readTemplates reads every page's template together with what all share.
func readTemplates() (map[string]*template.Template, error) {
	files, err := fs.Glob(templateFiles, "templates/*.html")
	if err != nil {
		return nil, err
	}
	pages := map[string]*template.Template{}
	for _, f := range files {
		name := strings.TrimSuffix(path.Base(f), ".html")
		if name == "frame" || name == "parts" {
			continue
		}
		t, err := template.New("frame.html").Funcs(helpers).ParseFS(templateFiles, "templates/frame.html", "templates/parts.html", f)
		if err != nil {
			return nil, err
		}
		pages[name] = t
	}
	return pages, nil
}

// Handler answers requests for the site's pages.
func (s *Site) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.index)
	mux.HandleFunc("/q/{id}", s.question)
	mux.HandleFunc("/q/{id}/marks", s.marks)
	mux.HandleFunc("GET /q/{id}/working", s.working)
	mux.HandleFunc("GET /faults", s.catalogue)
	mux.HandleFunc("GET /faults/{id}", s.fault)
	for _, name := range []string{"style.css", "page.js", "icon.svg"} {
		mux.Handle("GET /"+name, static(name))
	}
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		s.refuse(w, http.StatusNotFound, "There is no such page", "The address may have been mistyped, or the question is not among those served here.")
	})
	return s.guard(mux)
}

// static serves one file of the program's own.
func static(name string) http.Handler {
	data, err := staticFiles.ReadFile("static/" + name)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err != nil {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("Cache-Control", "no-cache")
		http.ServeContent(w, r, name, time.Time{}, bytes.NewReader(data))
	})
}

// frame is what every page has.
type frame struct {
	Title   string
	Caution string
	Style   template.CSS // the whole style, for a page that stands alone; "" otherwise
	Policy  string       // its content security policy
	Body    any
}

// Alone tells whether the page stands alone in a file.
func (f frame) Alone() bool { return f.Style != "" }

// show writes a page; nothing of it goes out unless all of it could be made.
func (s *Site) show(w http.ResponseWriter, code int, name string, f frame) {
	if f.Caution == "" {
		f.Caution = caution(s.questions)
	}
	var b bytes.Buffer
	if err := s.pages[name].Execute(&b, f); err != nil {
		http.Error(w, "The page could not be made.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Length", fmt.Sprint(b.Len()))
	w.WriteHeader(code)
	w.Write(b.Bytes())
}

// caution is the line of caution of the questions' topics.
func caution(questions []*solver.Question) string {
	var lines []string
	for _, q := range questions {
		if !slices.Contains(lines, q.Topic.Caution) {
			lines = append(lines, q.Topic.Caution)
		}
	}
	return strings.Join(lines, " ")
}

// refusal is a page that says why there is no other.
type refusal struct{ What, Why string }

func (s *Site) refuse(w http.ResponseWriter, code int, what, why string) {
	s.show(w, code, "refused", frame{Title: what, Body: refusal{what, why}})
}

// desk finds the question that a request names, or answers it.
func (s *Site) desk(w http.ResponseWriter, r *http.Request) *desk {
	d := s.desks[r.PathValue("id")]
	if d == nil {
		s.refuse(w, http.StatusNotFound, "There is no such question", "It is not among the questions served here.")
		return nil
	}
	if err := d.ready(); err != nil {
		s.refuse(w, http.StatusInternalServerError, "This question can't be worked", "Its figures give no answer to what is asked. The others are not touched by this.")
		return nil
	}
	return d
}

// topics lists the topics of the questions, each once.
func (s *Site) topics() []*rules.Topic {
	var out []*rules.Topic
	for _, q := range s.questions {
		if !slices.Contains(out, q.Topic) {
			out = append(out, q.Topic)
		}
	}
	return out
}
