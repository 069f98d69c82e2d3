//! Plans as tests, and the tests that drive a real browser.
