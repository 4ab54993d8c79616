// Package sensors answers one question: what do the instruments and the
// forecasters say, and may it be believed? A Reading is what one instrument
// reported, a Forecast what one source foretold; Check marks doubts and never
// drops anything; Merge makes of a place's good readings what a stage is
// judged by.
//
// Each transport has a file: the bus and its like (mqtt.go), a broker that others
// run (broker.go), a file that grows (growing.go), files put into a folder
// (drop.go), Modbus (modbus.go), HTTP (http.go), a folder of forecasts
// (forecastfolder.go) and a forecast at an address (forecasturl.go; fetch.go says
// what is an answer, freshness.go when to ask again). None of them decides anything.
// Package payload makes readings of device messages and package forecast makes
// forecasts of documents; both are below this package in the tree but import
// its nouns, so they are handed to the transports as functions. Package record
// reads whole files of weather that was.
package sensors
