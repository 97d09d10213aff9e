package show

import (
	"strings"

	"batten/parse"
	"batten/rules"
)

// whenWords words a condition by the titles that the topic gives to its pieces;
// "" for no condition, or for one that has no words.
func whenWords(t *rules.Topic, c parse.Cond) string {
	switch c := c.(type) {
	case *parse.Flag:
		return flagWords(t, c.Name)
	case *parse.Not:
		if f, ok := c.X.(*parse.Flag); ok {
			if w := flagWords(t, f.Name); w != "" {
				return "it is not so that " + w
			}
		}
	case *parse.And:
		return joined(t, c.Conds, " and ")
	case *parse.Or:
		return joined(t, c.Conds, " or ")
	}
	return ""
}

// joined words several conditions; "" where one of them has no words, for
// fewer would say something else.
func joined(t *rules.Topic, conds []parse.Cond, with string) string {
	var words []string
	for _, c := range conds {
		w := whenWords(t, c)
		if w == "" {
			return ""
		}
		words = append(words, w)
	}
	return strings.Join(words, with)
}

// flagWords is the title of a condition, or the word of a question's key that
// sets the flag.
func flagWords(t *rules.Topic, flag string) string {
	for _, c := range t.Conditions {
		if c.ID == flag {
			return strings.TrimSuffix(c.Title, ".")
		}
	}
	for _, k := range t.Keys {
		for _, o := range k.Options {
			for _, f := range o.Flags {
				if f == flag {
					key := k.Path[strings.LastIndexByte(k.Path, '.')+1:]
					return `the question has "` + key + ": " + o.Word + `"`
				}
			}
		}
	}
	return ""
}
