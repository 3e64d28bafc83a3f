// Package report turns answers into output: text, markdown and HTML for reading, JSON, SARIF, JUnit and tables for programs. It joins
// the element paths of a report with the places of a design file, so that people see lines and columns and their own units. It does
// not know how findings were found.
package report
