//! Papers as others read them: XML, pixels, calendar readers.

mod calendar_file;
mod pictures;
mod pixels;
mod samples;
