package inputs

import (
	"fmt"
	"slices"
	"strings"

	"batten/solver"
	"batten/testdata"
)

// All lists the questions, in the order of their ids.
func (qs *Questions) All() []*solver.Question {
	if qs.one != nil {
		return []*solver.Question{qs.one}
	}
	var out []*solver.Question
	for _, q := range qs.byID {
		out = append(out, q)
	}
	sortByID(out)
	return out
}

// Bank reads all questions that are built in.
func Bank() ([]*solver.Question, error) {
	var out []*solver.Question
	for _, id := range BuiltIn() {
		data, err := testdata.Questions.ReadFile("questions/" + id + ".yaml")
		if err != nil {
			return nil, fmt.Errorf("the built-in question %s: %w", id, err)
		}
		q, err := solver.ReadQuestion(id, data)
		if err != nil {
			return nil, err
		}
		out = append(out, q)
	}
	sortByID(out)
	return out, nil
}

func sortByID(qs []*solver.Question) {
	slices.SortFunc(qs, func(a, b *solver.Question) int { return strings.Compare(a.ID, b.ID) })
}
