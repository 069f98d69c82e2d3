//! The certificate that keeps others in the network from reading along.

use std::path::Path;
use std::sync::Arc;

use engine::Message;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::crypto::ring::default_provider;
use tokio_rustls::rustls::pki_types::pem::PemObject as _;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};

use crate::error::Error;

/// Takes secure connections with this certificate and key.
///
/// # Errors
/// When a file cannot be read, or the two do not belong together.
pub(crate) fn acceptor(cert: &Path, key: &Path) -> Result<TlsAcceptor, Error> {
    let unusable = |path: &Path| {
        Error::Unusable(Message::new(
            format!("`{}` is not a file of PEM that can be used", path.display()),
            "give the certificate with `--tls-cert` and its own key with `--tls-key`",
        ))
    };
    let certs: Result<Vec<_>, _> = CertificateDer::pem_file_iter(cert).and_then(Iterator::collect);
    let certs = certs.ok().filter(|certs| !certs.is_empty()).ok_or_else(|| unusable(cert))?;
    let secret = PrivateKeyDer::from_pem_file(key).map_err(|_| unusable(key))?;
    let mut config = ServerConfig::builder_with_provider(Arc::new(default_provider()))
        .with_safe_default_protocol_versions()
        .map_err(|_| unusable(cert))?
        .with_no_client_auth()
        .with_single_cert(certs, secret)
        .map_err(|_| unusable(key))?;
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Ok(TlsAcceptor::from(Arc::new(config)))
}
