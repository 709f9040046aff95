import { after } from 'next/server';
import { UploadQuery } from '@/lib/forms/photo-form';
import { askUploadRenewal } from '@/lib/work/photos/ask-renewal';
import { takePhoto } from '@/lib/work/photos/take-photo';
import { expectRight } from '@/lib/work/people/rights';

/** PUT one photo, its bytes as the body: PUT /api/photos?lawn=…&name=…&viewpoint=… */
export async function PUT(request: Request): Promise<Response> {
  const query = UploadQuery.safeParse(Object.fromEntries(new URL(request.url).searchParams));
  if (!query.success)
    return Response.json(
      { ok: false, message: query.error.issues[0]?.message ?? 'The address could not be read.' },
      { status: 400 },
    );
  if (!request.body)
    return Response.json({ ok: false, message: 'Expected a photo as the body, got nothing.' }, { status: 400 });
  await expectRight('works', { lawn: query.data.lawn });
  const { lawn, name, viewpoint, modified, taken, pitch, roll } = query.data;
  const result = await takePhoto(request.body, {
    lawnId: lawn,
    fileName: name,
    viewpointName: viewpoint,
    modified,
    taken,
    tilt: pitch === undefined ? undefined : { pitchDeg: pitch, rollDeg: roll ?? null },
    now: new Date(),
  });
  // Lining up and comparing take seconds: the sender needn't wait, and what a stop cuts short is taken up at the next
  // start.
  if (result.ok) after(() => askUploadRenewal(lawn, result.photoId));
  return Response.json(result, { status: result.ok ? 200 : result.status });
}
