// Package inputs finds what a command is asked to work on: questions, built in
// or in files, and the scripts of students.
package inputs

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"

	"batten/cmd/batten/internal/near"
	"batten/solver"
	"batten/testdata"
)

// Questions are those that a -q flag or an argument stands for: one, or a
// folder of them.
type Questions struct {
	one    *solver.Question
	byID   map[string]*solver.Question
	folder string
	// Refused holds what is wrong with questions of the folder that are left
	// out; nil where all are sound.
	Refused error
}

// Open resolves what a person typed: a file, a folder, or the id of a question
// that is built in. A file comes before an id of the same name, an id before a
// folder.
func Open(typed string) (*Questions, error) {
	info, err := os.Stat(typed)
	if err == nil && !info.IsDir() {
		q, err := solver.ReadFile(typed)
		return &Questions{one: q}, err
	}
	if data, err := testdata.Questions.ReadFile("questions/" + typed + ".yaml"); err == nil {
		q, err := solver.ReadQuestion(typed, data)
		return &Questions{one: q}, err
	}
	if err == nil {
		return openFolder(typed)
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: %w", typed, plain(err))
	}
	return nil, notFound(typed)
}

// One is Open for a command that works on a single question.
func One(typed string) (*solver.Question, error) {
	qs, err := Open(typed)
	if err != nil {
		return nil, err
	}
	if q := qs.Only(); q != nil {
		return q, nil
	}
	return nil, fmt.Errorf("%s holds %d questions: name one of them, such as %s",
		typed, len(qs.byID), path.Join(typed, qs.ids()[0]+".yaml"))
}

func openFolder(dir string) (*Questions, error) {
	list, err := solver.ReadFolder(dir)
	if len(list) == 0 {
		return nil, err
	}
	qs := &Questions{folder: dir, byID: map[string]*solver.Question{}, Refused: err}
	for _, q := range list {
		qs.byID[strings.ToLower(q.ID)] = q
	}
	return qs, nil
}

// Only is the one question there is, nil where there are several.
func (qs *Questions) Only() *solver.Question {
	if qs.one != nil {
		return qs.one
	}
	if len(qs.byID) == 1 {
		for _, q := range qs.byID {
			return q
		}
	}
	return nil
}

// For is the question that a script is to be read against, by the id in its
// header. warning is for a person where the header says otherwise than -q.
func (qs *Questions) For(header string) (q *solver.Question, warning string, err error) {
	header = strings.TrimSpace(header)
	if only := qs.Only(); only != nil {
		if header != "" && !strings.EqualFold(header, only.ID) {
			warning = fmt.Sprintf("its header names the question %q; it is read against %s", header, only.ID)
		}
		return only, warning, nil
	}
	if header == "" {
		return nil, "", fmt.Errorf("it does not name its question: a first line such as \"Question: %s\" would", qs.ids()[0])
	}
	if q := qs.byID[strings.ToLower(header)]; q != nil {
		return q, "", nil
	}
	msg := fmt.Sprintf("it names the question %q, which %s does not hold", header, qs.folder)
	if close := near.Words(header, qs.ids()); len(close) > 0 {
		msg += "; nearest: " + strings.Join(close, ", ")
	}
	return nil, "", errors.New(msg)
}

// Title of the question with the id, "" when it is not among these.
func (qs *Questions) Title(id string) string {
	if qs.one != nil && qs.one.ID == id {
		return qs.one.Title
	}
	if q := qs.byID[strings.ToLower(id)]; q != nil {
		return q.Title
	}
	return ""
}

func (qs *Questions) ids() []string {
	var ids []string
	for _, q := range qs.byID {
		ids = append(ids, q.ID)
	}
	slices.Sort(ids)
	return ids
}

// BuiltIn lists the ids of the questions that come with the program.
func BuiltIn() []string {
	files, err := fs.Glob(testdata.Questions, "questions/*.yaml")
	if err != nil {
		return nil
	}
	for i, f := range files {
		files[i] = strings.TrimSuffix(path.Base(f), ".yaml")
	}
	slices.Sort(files)
	return files
}

// notFound is the refusal of what is neither a file nor a built-in question.
func notFound(typed string) error {
	if strings.ContainsAny(typed, `/\`) || strings.HasSuffix(typed, ".yaml") || strings.HasSuffix(typed, ".yml") {
		return fmt.Errorf("there is no file %s", typed)
	}
	msg := fmt.Sprintf("%s is neither a file nor a built-in question", typed)
	if close := near.Words(typed, BuiltIn()); len(close) > 0 {
		return errors.New(msg + "; nearest: " + strings.Join(close, ", "))
	}
	return errors.New(msg + "; built in: " + strings.Join(BuiltIn(), ", "))
}

// plain rewords an error of the file system for a person, without the name.
func plain(err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return errors.New("there is no such file")
	case errors.Is(err, fs.ErrPermission):
		return errors.New("it may not be read: permission denied")
	}
	var p *fs.PathError
	if errors.As(err, &p) {
		return fmt.Errorf("it can't be read: %w", p.Err)
	}
	return err
}
