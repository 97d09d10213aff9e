package rules

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"sort"
	"strings"
	"sync"
)

// The topics and the faults that belong to all of them. A topic is a file here,
// or a folder with a topic.yaml that lists its other files.
//
//go:embed *.yaml */*.yaml
var builtin embed.FS

const (
	genericName = "generic.yaml" // the faults that can arise on any quantity
	topicName   = "topic.yaml"   // the file of a topic's folder that is read first
)

// Error is one reason why a topic's data is refused.
type Error struct {
	At     Place
	Reason string
}

func (e *Error) Error() string { return fmt.Sprintf("%s: %s", e.At, e.Reason) }

func (p Place) String() string { return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Column) }

// Load reads the topic called name, a YAML file or a folder, from fsys and
// checks it. All that is wrong is reported, each as an [Error] with its place,
// joined by errors.Join. Faults common to all topics are read from generic.yaml
// where fsys has one, and from the built-in file where it has none.
func Load(fsys fs.FS, name string) (*Topic, error) {
	t, err := read(fsys, name)
	if err != nil {
		return nil, err
	}
	if err := t.prove(); err != nil {
		return nil, err
	}
	return t, nil
}

// read loads a topic and checks all that can be checked without drawing questions.
func read(fsys fs.FS, name string) (*Topic, error) {
	l := &loader{topic: &Topic{}, read: map[string]*document{}, flags: map[string]bool{}, idea: map[string]Place{}}
	if info, err := fs.Stat(fsys, name); err != nil {
		return nil, err
	} else if info.IsDir() {
		l.first = path.Join(name, topicName)
		l.folder(fsys, name)
	} else {
		l.first = name
		l.file(fsys, name)
	}
	if _, err := fs.Stat(fsys, genericName); err == nil {
		l.generic(fsys)
	} else {
		l.generic(builtin)
	}
	// The lexicon wants the names and words alone, so it is made beside the rest.
	made := make(chan *lexicon, 1)
	go func() { made <- newLexicon(l.topic) }()
	l.finish()
	l.topic.lexicon = <-made
	if len(l.errs) > 0 {
		return nil, l.joined()
	}
	return l.topic, nil
}

// folder reads topic.yaml and the files it lists. Every YAML file of the
// folder must be listed, so that none is left out by accident.
func (l *loader) folder(fsys fs.FS, name string) {
	files, _ := fs.Glob(fsys, path.Join(name, "*.yaml"))
	l.prefetch(fsys, files)
	l.file(fsys, path.Join(name, topicName))
	listed := map[string]bool{topicName: true}
	for _, f := range l.files {
		listed[f.text+".yaml"] = true
		if _, err := fs.Stat(fsys, path.Join(name, f.text+".yaml")); err != nil {
			l.fail(f.at, "there is no file %s.yaml beside this one", f.text)
			continue
		}
		l.file(fsys, path.Join(name, f.text+".yaml"))
	}
	entries, _ := fs.ReadDir(fsys, name)
	for _, e := range entries {
		if path.Ext(e.Name()) == ".yaml" && !listed[e.Name()] {
			l.fail(Place{path.Join(name, topicName), 1, 1}, "the file %s stands in the folder, but not under files", e.Name())
		}
	}
}

// joined returns what was found, in the order of files and lines.
func (l *loader) joined() error {
	order := map[string]int{}
	for _, e := range l.errs {
		if _, ok := order[e.At.File]; !ok {
			order[e.At.File] = len(order)
		}
	}
	sort.SliceStable(l.errs, func(i, j int) bool {
		a, b := l.errs[i].At, l.errs[j].At
		if a.File != b.File {
			return order[a.File] < order[b.File]
		}
		if a.Line != b.Line {
			return a.Line < b.Line
		}
		return a.Column < b.Column
	})
	errs := make([]error, len(l.errs))
	for i, e := range l.errs {
		errs[i] = e
	}
	return errors.Join(errs...)
}

// names lists the topics of fsys: its folders with a topic.yaml and its YAML files.
func names(fsys fs.FS) []string {
	var out []string
	entries, _ := fs.ReadDir(fsys, ".")
	for _, e := range entries {
		switch {
		case e.IsDir():
			if _, err := fs.Stat(fsys, path.Join(e.Name(), topicName)); err == nil {
				out = append(out, e.Name())
			}
		case path.Ext(e.Name()) == ".yaml" && e.Name() != genericName:
			out = append(out, e.Name())
		}
	}
	return out
}

var builtins = sync.OnceValue(func() []*Topic {
	var out []*Topic
	for _, n := range names(builtin) {
		t, err := read(builtin, n)
		if err != nil {
			// The tests load and prove every built-in topic; this can't be reached
			// in a build that passed them.
			panic("the built-in rules are not sound:\n" + err.Error())
		}
		out = append(out, t)
	}
	return out
})

// Builtin returns the topics that come with the program, in order of their
// names. They are loaded once, shared, and must not be changed.
func Builtin() []*Topic { return builtins() }

// Topics returns the built-in topic with the id. An empty id serves where there
// is one topic only.
func Topics(id string) (*Topic, bool) {
	all := Builtin()
	if id == "" && len(all) == 1 {
		return all[0], true
	}
	for _, t := range all {
		if strings.EqualFold(t.ID, id) {
			return t, true
		}
	}
	return nil, false
}
