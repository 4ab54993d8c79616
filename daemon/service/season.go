package service

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/sensors/record"
)

// Records reads the site's records that a yard file names, from a folder where relative
// names start, and what is doubtful in them, one line for each kind of doubt. A yard
// without records has none.
func Records(y config.Yard, folder string) (records []conditions.Weather, doubts []string, err error) {
	if y.Records == "" {
		return nil, nil, nil
	}
	zone, err := y.Location()
	if err != nil {
		return nil, nil, err
	}
	name := y.Records
	if !filepath.IsAbs(name) {
		name = filepath.Join(folder, name)
	}
	text, err := os.ReadFile(name)
	if err != nil {
		return nil, nil, fmt.Errorf("the records can't be read: %w", err)
	}
	records, doubts, err = record.Read(y.Records, text, record.Options{Station: y.Station, Zone: zone})
	if err != nil {
		return nil, nil, fmt.Errorf("the records can't be read: %w", err)
	}
	return records, doubts, nil
}

// season is the season of the site's records; the zero one, which knows nothing, where
// there are none or too few.
func (s *Service) season(y config.Yard) (conditions.Season, error) {
	records, doubts, err := Records(y, s.opt.Folder)
	if err != nil || y.Records == "" {
		return conditions.Season{}, err
	}
	log := s.log.WithField("records", y.Records)
	if len(doubts) > 0 {
		log.Warn("left out of the records: " + strings.Join(doubts, "; "))
	}
	season, err := conditions.SeasonOf(records)
	if err != nil {
		log.WithError(err).Warn("the records make no season; the yard file's months are used")
	}
	return season, nil
}
