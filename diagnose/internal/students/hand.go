package students

// Hand is one student's way of writing: many habits, each drawn by itself.
type Hand struct {
	Label    string // long, short, symbol, mixed
	Bare     float64
	Case     string // as is, title, upper, lower
	Shape    string // which of formula, figures and result stand on a line
	Chain    string // one line, lines, formula first
	Lead     string // what a run-on line begins with
	Skip     string // how many intermediate steps stay unwritten
	Order    string
	Rounding string // each line, full, mixed
	Units    string // everywhere, answers, never
	Percent  string
	Symbols  string // how formulas in symbols are set: letters, spaced, words
	Marks    string // part marks
	State    string // how before and after bilging are told apart
	Table    string // of moments
	Comma    bool   // decimal comma
	Thousand string
	Typo     bool

	mul, div, minus, pow, eq string
	unitStyle                int
	places                   int  // further places than the trade gives
	trim                     bool // trailing noughts dropped
	truncate                 bool
	unbracketed              bool // brackets of a divisor left unwritten in figures
	implied                  bool // 12(7776)
	unitsWithin              bool // units on the figures of the working too
	headings, prose, blanks  bool
	data                     bool // the data listed first
	summary                  string
	change                   string // how a change is told: signed, size and word, sentence
	header                   string
	processor                bool
	colon                    bool
	sentences                bool
	withdraw                 bool
	doubts                   bool
	tail                     bool // label behind the result, once in a while
	approx                   bool
	draft                    bool
	fold                     bool
	glued                    bool // LxB
	pairs                    bool // two steps on a line, now and then

	words map[int]string // the word or symbol chosen for each quantity
	tags  []string
	r     *rng
}

func (h *Hand) tag(s string) { h.tags = append(h.tags, s) }

func choose(h *Hand, name string, weights []float64, options ...string) string {
	o := options[h.r.weighted(weights...)]
	h.tag(name + ": " + o)
	return o
}

func drawHand(r *rng) *Hand {
	h := &Hand{r: r, words: map[int]string{}}
	h.Label = choose(h, "labels", []float64{0.3, 0.3, 0.2, 0.2}, "long", "short", "symbol", "mixed")
	if r.chance(0.1) {
		h.Bare = 0.25
		h.tag("labels: some none")
	}
	h.Case = choose(h, "case", []float64{0.55, 0.25, 0.1, 0.1}, "as is", "title", "upper", "lower")
	h.Shape = choose(h, "shape", []float64{0.3, 0.3, 0.08, 0.12, 0.2}, "formula, figures, result", "figures, result", "formula, result", "result only", "mixed")
	h.Chain = choose(h, "chain", []float64{0.68, 0.2, 0.12}, "one line", "lines", "formula first")
	h.Lead = pick(r, "= ", "= ", "   = ", "  = ", "∴ ", "=> ", "\t= ")
	h.Skip = choose(h, "steps", []float64{0.3, 0.42, 0.18, 0.1}, "all", "most", "few", "answers only")
	h.Order = choose(h, "order", []float64{0.7, 0.15, 0.15}, "usual", "second moment first", "quantity by quantity")
	h.Rounding = choose(h, "rounding", []float64{0.45, 0.35, 0.2}, "each line", "full", "mixed")
	h.Units = choose(h, "units", []float64{0.5, 0.35, 0.15}, "everywhere", "answers", "never")
	h.Percent = choose(h, "permeability", []float64{0.55, 0.25, 0.2}, "fraction", "percent", "two places")
	h.Symbols = choose(h, "symbols", []float64{0.4, 0.35, 0.25}, "letters", "spaced", "words")
	h.Marks = choose(h, "part marks", []float64{0.25, 0.15, 0.08, 0.12, 0.06, 0.05, 0.05, 0.04, 0.1, 0.1}, "(a)", "a)", "a.", "Part a", "PART A)", "Q1 a)", "### part a", "a", "inline (a)", "none")
	h.State = choose(h, "before and after", []float64{0.25, 0.12, 0.2, 0.12, 0.06, 0.15, 0.1}, "words before", "words behind", "digits 1 2", "bare and 1", "prime", "headings", "order")
	h.Table = choose(h, "moments", []float64{0.5, 0.2, 0.1, 0.14, 0.06}, "lines", "spaces", "tabs", "bars", "markdown")
	h.mul = pick(r, " x ", " x ", " x ", "x", " X ", "*", " * ", " × ", "×", " · ")
	h.div = pick(r, "/", "/", " / ", " / ", " ÷ ", "÷")
	h.minus = pick(r, " - ", " - ", " - ", "-", " − ", " – ")
	h.pow = pick(r, "^3", "^3", "³", "³", "**3")
	h.eq = pick(r, " = ", " = ", " = ", "=", " =", "= ")
	h.tag("product: " + h.mul)
	h.unitStyle = r.weighted(0.5, 0.25, 0.15, 0.1)
	h.places = r.weighted(0.75, 0.2, 0.05)
	h.trim = r.chance(0.25)
	h.truncate = r.chance(0.03)
	h.unbracketed = r.chance(0.08)
	h.implied = r.chance(0.1)
	h.unitsWithin = h.Units == "everywhere" && r.chance(0.08)
	h.headings = r.chance(0.4) || h.State == "headings"
	h.prose = r.chance(0.3)
	h.blanks = r.chance(0.55)
	h.data = r.chance(0.15)
	h.summary = choose(h, "at the end", []float64{0.72, 0.12, 0.08, 0.08}, "nothing", "answers again", "before-after table", "column of figures")
	h.change = choose(h, "change told", []float64{0.35, 0.4, 0.25}, "signed", "size and word", "sentence")
	h.header = pick(r, "", "", "name", "name, question", "question, name")
	h.processor = r.chance(0.15)
	h.colon = r.chance(0.06)
	h.sentences = r.chance(0.12)
	h.withdraw = r.chance(0.05)
	h.doubts = r.chance(0.15)
	h.tail = r.chance(0.03)
	h.approx = r.chance(0.06)
	h.draft = r.chance(0.3)
	h.fold = r.chance(0.8)
	h.glued = r.chance(0.3)
	h.pairs = r.chance(0.06)
	h.Comma = r.chance(0.06)
	if h.Comma {
		h.tag("decimal comma")
		h.Thousand = pick(r, "", "", " ")
	} else {
		h.Thousand = pick(r, "", "", "", "", ",", ",", " ")
	}
	if h.Thousand != "" {
		h.tag("thousands: '" + h.Thousand + "'")
	}
	for _, b := range []struct {
		on   bool
		name string
	}{{h.trim, "trailing noughts dropped"}, {h.truncate, "cut, not rounded"}, {h.unbracketed, "brackets unwritten"}, {h.implied, "implied products"},
		{h.unitsWithin, "units within"}, {h.headings, "headings"}, {h.prose, "prose"}, {h.data, "data listed"}, {h.processor, "word processor"}, {h.colon, "colon for equals"},
		{h.sentences, "sentences"}, {h.withdraw, "lines withdrawn"}, {h.tail, "label behind"}, {h.approx, "about equal"},
		{h.pairs, "several steps on a line"}} {
		if b.on {
			h.tag(b.name)
		}
	}
	if h.Typo = r.chance(0.04); h.Typo {
		h.tag("a typing slip")
	}
	return h
}

// skips decides whether a step stays in the student's head.
func (h *Hand) skips(q *quant) bool {
	switch h.Skip {
	case "all":
		return h.r.chance(q.skip * 0.25)
	case "most":
		return h.r.chance(q.skip)
	case "few":
		return h.r.chance(0.35 + q.skip)
	}
	return h.r.chance(0.96)
}
