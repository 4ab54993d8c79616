package waits

import "testing"

func TestMoney(t *testing.T) {
	for amount, want := range map[float64]string{
		0: "0 EUR", 999.4: "999 EUR", 1000: "1\u202f000 EUR", 210854: "210\u202f854 EUR", -1234567: "-1\u202f234\u202f567 EUR", -123: "-123 EUR",
	} {
		if got := Money(amount, "EUR"); got != want {
			t.Errorf("%g: %q, want %q", amount, got, want)
		}
	}
}
