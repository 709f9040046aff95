/** Draws the home-screen icons from app/icon.svg: `npm run icons`, after the drawing changed. */
import sharp from 'sharp';

for (const size of [192, 512]) {
  await sharp('app/icon.svg', { density: (72 * size) / 64 })
    .resize(size, size)
    .flatten({ background: '#1d5a45' })
    .png({ palette: true, colours: 32 })
    .toFile(`public/icon-${size}.png`);
}
