package file

import (
	"fmt"
	"strings"

	"fairwindow/config"
)

// layers are a boat's skin in one cell of a CSV file, outermost first:
// filler 2 mm + laminate 9 mm.
type layers struct{ skin *[]config.Layer }

func (l layers) MarshalText() ([]byte, error) {
	var words []string
	for _, one := range *l.skin {
		words = append(words, strings.TrimSpace(one.Of+" "+one.Thick.String()))
	}
	return []byte(strings.Join(words, " + ")), nil
}

func (l layers) UnmarshalText(text []byte) error {
	*l.skin = nil
	if len(strings.TrimSpace(string(text))) == 0 {
		return nil
	}
	for word := range strings.SplitSeq(string(text), "+") {
		of, thick, both := strings.Cut(strings.TrimSpace(word), " ")
		if !both {
			return fmt.Errorf("%q is no layer; write what it is of and its thickness, like \"filler 2 mm + laminate 9 mm\"", strings.TrimSpace(word))
		}
		one := config.Layer{Of: of}
		if err := one.Thick.UnmarshalText([]byte(strings.TrimSpace(thick))); err != nil {
			return err
		}
		*l.skin = append(*l.skin, one)
	}
	return nil
}
