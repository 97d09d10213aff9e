// Package solver reads and checks questions and works their reference answers.
//
// It knows topics only as data and students not at all.
package solver

import "batten/rules"

// Question is a question read from its file and found sound.
type Question struct {
	ID      string
	Title   string
	Header  string // the line over the title on papers, "" where there is none
	File    string // where it was read, for messages
	Topic   *rules.Topic
	Flags   map[string]bool    // flags set by the words of its keys
	Given   map[string]float64 // figures of given quantities, in each quantity's own unit
	Written map[string]string  // dotted key → its text as it stands in the file ("above 1.5 m")
	Places  map[string]int     // decimal places each given figure is written with
	Parts   []Part
	Marking rules.Marking
	Minutes int            // 0: not said
	Lines   map[string]int // dotted path of each key that stands → its line, for messages
}

// Part is one thing asked, with its marks.
type Part struct {
	Letter string // lower case
	Find   *rules.Find
	Marks  float64
}

// Refusal is one reason why a question is not sound.
type Refusal struct {
	File  string
	Line  int
	Key   string // dotted path of the key, "" for the file as a whole
	Wrong string // what is wrong
	Right string // what would be right
}
