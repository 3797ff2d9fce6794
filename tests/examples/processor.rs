//! Processor time, for examples that compare searches beside other work.

use rustix::time::{ClockId, clock_gettime};

/// Returns the processor time of all threads since the program began. [s]
pub fn processor_seconds() -> f64 {
    let time = clock_gettime(ClockId::ProcessCPUTime);
    time.tv_sec as f64 + time.tv_nsec as f64 * 1e-9
}
