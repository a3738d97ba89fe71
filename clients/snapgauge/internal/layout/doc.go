// Package layout puts text into columns of a terminal: it measures, wraps,
// shortens and colours. It knows nothing of what the text is about.
//
// Widths are counted in terminal cells. Text is cleaned before it is laid out,
// so that nothing a server or a file sends can steer the terminal.
package layout
