//! Papers as others read them: XML, pixels, calendar readers.

mod calendar_file;
mod packet;
mod pictures;
mod pixels;
mod samples;
