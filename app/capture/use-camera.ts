'use client';
import { useCallback, useEffect, useRef, useState } from 'react';

export type CameraState = 'starting' | 'live' | 'none';

interface StillCamera {
  takePhoto(): Promise<Blob>;
}
type StillCameraMaker = new (track: MediaStreamTrack) => StillCamera;

const whyNot: Record<string, string> = {
  NotAllowedError: 'The browser was not allowed to use the camera.',
  NotFoundError: 'No camera was found.',
  NotReadableError: 'The camera is in use by another program.',
};

function waitAtMost<T>(promise: Promise<T>, ms: number): Promise<T> {
  return Promise.race([
    promise,
    new Promise<never>((_resolve, reject) => setTimeout(() => reject(new Error('took too long')), ms)),
  ]);
}

/** A frame of the video at its full size, as a JPEG of quality 0.95. */
function frameOf(video: HTMLVideoElement): Promise<Blob> {
  const canvas = document.createElement('canvas');
  canvas.width = video.videoWidth;
  canvas.height = video.videoHeight;
  canvas.getContext('2d')?.drawImage(video, 0, 0);
  return new Promise((resolve, reject) =>
    canvas.toBlob(
      (blob) => (blob ? resolve(blob) : reject(new Error('The camera gave no picture.'))),
      'image/jpeg',
      0.95,
    ),
  );
}

/** The rear camera: its live picture goes into the video, `shoot` takes the largest still it gives. */
export function useCamera() {
  const video = useRef<HTMLVideoElement>(null);
  const track = useRef<MediaStreamTrack | null>(null);
  const [state, setState] = useState<CameraState>('starting');
  const [reason, setReason] = useState('');
  const [size, setSize] = useState({ width: 4, height: 3 });

  useEffect(() => {
    let gone = false;
    let stream: MediaStream | undefined;
    const start = async () => {
      if (!navigator.mediaDevices?.getUserMedia) {
        setReason('A browser opens the camera only over https or on this very machine.');
        setState('none');
        return;
      }
      try {
        stream = await navigator.mediaDevices.getUserMedia({
          video: { facingMode: { ideal: 'environment' }, width: { ideal: 4032 }, height: { ideal: 3024 } },
          audio: false,
        });
      } catch (error) {
        setReason(whyNot[(error as DOMException).name] ?? 'The camera did not start.');
        setState('none');
        return;
      }
      if (gone || !video.current) {
        stream.getTracks().forEach((one) => one.stop());
        return;
      }
      track.current = stream.getVideoTracks()[0] ?? null;
      video.current.srcObject = stream;
      await video.current.play().catch(() => undefined);
      setState('live');
    };
    void start();
    return () => {
      gone = true;
      stream?.getTracks().forEach((one) => one.stop());
    };
  }, []);

  const measured = useCallback(() => {
    if (video.current && video.current.videoWidth > 0)
      setSize({ width: video.current.videoWidth, height: video.current.videoHeight });
  }, []);

  const shoot = useCallback(async (): Promise<Blob> => {
    const maker = (globalThis as { ImageCapture?: StillCameraMaker }).ImageCapture;
    if (maker && track.current) {
      try {
        return await waitAtMost(new maker(track.current).takePhoto(), 6000);
      } catch {
        // Not every camera gives stills: the live picture does.
      }
    }
    if (!video.current) throw new Error('The camera gave no picture.');
    return frameOf(video.current);
  }, []);

  return { video, state, reason, size, measured, shoot };
}
