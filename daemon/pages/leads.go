package pages

import (
	"context"
	"fmt"

	"fairwindow/conditions"
)

// leads says which of several forecasts the plan goes by and by how much it was more
// right here than the next; nothing where there is only one.
func (p *pages) leads(ctx context.Context) (string, error) {
	now, by, err := p.Air.Leading(ctx)
	if err != nil {
		return "", fmt.Errorf("leading forecast: %w", err)
	}
	switch {
	case now == "" || len(by.Skills) < 2:
		return "", nil
	case now != by.Leader:
		return fmt.Sprintf("Forecast: %s stands in for %s, which has none now that is new enough and good.", now, by.Leader), nil
	}
	return fmt.Sprintf("Forecast: %s leads. %s", now, compared(by.Skills[1])), nil
}

// compared words how the next source did beside the leading one.
func compared(next conditions.Skill) string {
	d := next.Behind
	over := fmt.Sprintf("Over %d days and %d hours that both foretold", d.Days, d.Hours)
	switch {
	case d.Hours == 0:
		return fmt.Sprintf("There are not yet hours enough, foretold by both and measured, to compare it with %s.", next.Source)
	case d.Gain > 0:
		return fmt.Sprintf("%s, %s was off by %s %% less: not surely enough to take over.", over, next.Source, number(100*d.Gain, 0))
	}
	return fmt.Sprintf("%s, it was off by %s %% less than %s.", over, number(100*(1-1/(1-d.Gain)), 0), next.Source)
}
