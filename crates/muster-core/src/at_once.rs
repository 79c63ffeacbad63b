//! Long work that rests in between, for whoever has the time: it is run to its end without a rest.

use core::{
    pin::pin,
    task::{Context, Poll, Waker},
};

/// What work comes to that waits for nothing but its rests, which are over at once.
pub(crate) fn at_once<T>(work: impl Future<Output = T>) -> T {
    let mut work = pin!(work);
    let mut context = Context::from_waker(Waker::noop());
    loop {
        if let Poll::Ready(done) = work.as_mut().poll(&mut context) {
            return done;
        }
    }
}
