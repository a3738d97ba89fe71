// Package vin reads vehicle identification numbers.
//
// The shape is that of ISO 3779: seventeen characters, digits and capital
// letters without I, O and Q, in three sections. The meaning of the check
// digit and of the model-year code is that of 49 CFR 565.15, the rule of the
// United States, which many other markets share but not all: so a wrong check
// digit is a question that the caller asks ([VIN.CheckDigitOK]), never an error
// of [Parse].
//
//	position  1 2 3 | 4 5 6 7 8 9 | 10 11 12 13 14 15 16 17
//	section   WMI   | VDS         | VIS
//	                            ^    ^  ^  serial number
//	                            |    |  plant
//	                            |    model year
//	                            check digit
//
// Makers of fewer than a thousand vehicles a year share a WMI that ends in 9;
// positions 12 to 14 then tell the maker, and the serial number is the last
// three.
//
// Everything here is immutable and safe for concurrent use.
package vin
