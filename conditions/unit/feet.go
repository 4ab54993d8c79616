package unit

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// feetInches is how people in US yards write a length: 13 ft 6 in. Its value is in inches,
// of which a foot has 12, so that what was written comes back to the letter.
const feetInches = "ft in"

// marks are the signs for feet and inches, also as phones bend them.
var marks = strings.NewReplacer("'", " ft ", "’", " ft ", "′", " ft ", `"`, " in", "”", " in", "″", " in")

var feet = regexp.MustCompile(`^\s*([-+]?)([0-9]{1,6}) *ft *([0-9]+(?:\.[0-9]*)?) *in\s*$`)

// splitLength parts a length as split does, and one in feet and inches.
func splitLength(text string) (float64, string, error) {
	text = marks.Replace(text)
	part := feet.FindStringSubmatch(text)
	if part == nil {
		value, unit, err := split(text)
		if strings.Contains(unit, " ") {
			err = fmt.Errorf("no feet and inches in %q", text)
		}
		return value, unit, err
	}
	whole, err := strconv.ParseFloat(part[2], 64)
	if err != nil {
		return 0, "", err
	}
	inches, err := strconv.ParseFloat(part[3], 64)
	if err == nil && inches >= 12 {
		err = fmt.Errorf("%s inches are a foot and more", part[3])
	}
	value := 12*whole + inches
	if part[1] == "-" {
		value = -value
	}
	return value, feetInches, err
}

// feetText writes inches as feet and inches, with no more decimals than bring the same back: the
// remainder of a division by 12 has some that nobody wrote.
func feetText(inches float64) string {
	sign := ""
	if math.Signbit(inches) {
		sign, inches = "-", -inches
	}
	rest := math.Mod(inches, 12)
	whole := inches - rest
	text := strconv.FormatFloat(rest, 'f', -1, 64)
	for decimals := range 20 {
		short := strconv.FormatFloat(rest, 'f', decimals, 64)
		if near, err := strconv.ParseFloat(short, 64); err == nil && whole+near == inches {
			text = short
			break
		}
	}
	return fmt.Sprintf("%s%.0f ft %s in", sign, whole/12, text)
}
