package solver

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sort"
	"strings"

	"batten/rules"
)

// Refusals is every reason why a question (or a folder of them) is not sound,
// in the order of files and lines. It is the error of the functions that read
// questions.
type Refusals []*Refusal

// Error is one line: file:line: key: what is wrong; what would be right.
func (r *Refusal) Error() string {
	var b strings.Builder
	if r.File != "" {
		b.WriteString(r.File)
		b.WriteByte(':')
	}
	if r.Line > 0 {
		fmt.Fprintf(&b, "%d:", r.Line)
	}
	if b.Len() > 0 {
		b.WriteByte(' ')
	}
	if r.Key != "" {
		b.WriteString(r.Key)
		b.WriteString(": ")
	}
	b.WriteString(r.Wrong)
	if r.Right != "" {
		b.WriteString("; ")
		b.WriteString(r.Right)
	}
	return b.String()
}

// Error is one line for each refusal.
func (r Refusals) Error() string {
	lines := make([]string, len(r))
	for i, x := range r {
		lines[i] = x.Error()
	}
	return strings.Join(lines, "\n")
}

// maxRefusals keeps the message for a file full of nonsense readable.
const maxRefusals = 60

// ReadQuestion reads a question from the bytes of its file and checks it
// against its topic. file is used in messages alone. The error is a Refusals
// that holds all that is wrong with the question.
func ReadQuestion(file string, data []byte) (*Question, error) {
	return readQuestion(file, data, rules.Builtin())
}

// ReadFile reads the question in one file. A file that cannot be read is a
// refusal like any other.
func ReadFile(path string) (*Question, error) {
	// Opening a device or a pipe could wait for ever; a file too large is
	// refused before it is taken into memory.
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, Refusals{{File: path, Wrong: reason(err), Right: "name a question file"}}
	case info.IsDir():
		return nil, Refusals{{File: path, Wrong: "this is a folder", Right: "name one question file in it"}}
	case info.Mode()&(os.ModeDevice|os.ModeSocket) != 0:
		return nil, Refusals{{File: path, Wrong: "this is not a file", Right: "name a question file"}}
	case info.Size() > maxQuestionBytes:
		return nil, Refusals{tooLarge(info.Size()).in(path)}
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, Refusals{{File: path, Wrong: reason(err), Right: "name a question file that can be read"}}
	}
	defer f.Close()
	// A pipe has no size beforehand.
	data, err := io.ReadAll(io.LimitReader(f, maxQuestionBytes+1))
	if err != nil {
		return nil, Refusals{{File: path, Wrong: reason(err), Right: "name a question file that can be read"}}
	}
	return ReadQuestion(path, data)
}

// ReadFolder reads every *.yaml file of a folder, in the order of their names.
// It returns the questions that are sound even where others are refused: the
// error then is a Refusals over all files. Two files with one id are refused
// at the second.
func ReadFolder(dir string) ([]*Question, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, Refusals{{File: dir, Wrong: reason(err), Right: "name a folder of questions"}}
	}
	var questions []*Question
	var refused Refusals
	found := false
	first := map[string]string{} // id → file
	for _, e := range entries {
		if e.IsDir() || filepath.Ext(e.Name()) != ".yaml" {
			continue
		}
		found = true
		path := filepath.Join(dir, e.Name())
		q, err := ReadFile(path)
		if err != nil {
			r, ok := err.(Refusals)
			if !ok {
				return nil, err
			}
			refused = append(refused, r...)
			continue
		}
		if other, twice := first[q.ID]; twice {
			refused = append(refused, &Refusal{File: path, Line: q.Lines["id"], Key: "id",
				Wrong: fmt.Sprintf("the id %s is that of %s too", quote(q.ID), other), Right: "give each question of a folder an id of its own"})
			continue
		}
		first[q.ID] = path
		questions = append(questions, q)
	}
	if !found {
		refused = append(refused, &Refusal{File: dir, Wrong: "there is no question in the folder", Right: "a question is a file whose name ends in .yaml"})
	}
	if len(refused) > 0 {
		return questions, refused
	}
	return questions, nil
}

func (r *Refusal) in(file string) *Refusal {
	r.File = file
	return r
}

// reason words an error of the file system without the path, which stands
// before it already.
func reason(err error) string {
	switch {
	case os.IsNotExist(err):
		return "there is no such file"
	case os.IsPermission(err):
		return "the file may not be read"
	}
	if p, ok := err.(*os.PathError); ok {
		return p.Err.Error()
	}
	return err.Error()
}

func readQuestion(file string, data []byte, topics []*rules.Topic) (*Question, error) {
	r := &reader{
		q: &Question{
			File:    file,
			Flags:   map[string]bool{},
			Given:   map[string]float64{},
			Written: map[string]string{},
			Places:  map[string]int{},
		},
		lines:  map[string]int{"": 1},
		shown:  map[string]string{},
		unsure: map[string]bool{},
	}
	root, refused := readTree(data)
	r.refused = refused
	if root != nil {
		r.question(root, topics)
	}
	if len(r.refused) == 0 {
		// The last word: the chain itself must stand.
		if _, err := NewModel(r.q); err != nil {
			r.refuse(1, "", "no working can be had from these figures ("+plain(err.Error())+")", "look at the figures and at what the parts ask for")
		}
	}
	if len(r.refused) > 0 {
		return nil, r.list()
	}
	r.q.Lines = r.lines
	return r.q, nil
}

// list puts the refusals in the order of their lines, one message each.
func (r *reader) list() Refusals {
	sort.SliceStable(r.refused, func(i, j int) bool { return r.refused[i].Line < r.refused[j].Line })
	out := Refusals{}
	for i, x := range r.refused {
		x.File = r.q.File
		if i == maxRefusals {
			out = append(out, &Refusal{File: r.q.File, Wrong: fmt.Sprintf("there are %d more", len(r.refused)-i), Right: "mend these first"})
			break
		}
		out = append(out, x)
	}
	return out
}
